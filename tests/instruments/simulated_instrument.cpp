#include "tests/instruments/simulated_instrument.h"

#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <poll.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <termios.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <stdexcept>

namespace foundling {

SimulatedInstrument::SimulatedInstrument(std::filesystem::path terminal)
    : terminal_(std::move(terminal)) {
  answers_["*IDN?"] = identity;
  if (terminal_.empty()) open_port();
  thread_ = std::thread([this] { run(); });
  plug(true);
}

SimulatedInstrument::~SimulatedInstrument() {
  ending_ = true;
  thread_.join();
  close_all();
}

std::string SimulatedInstrument::address() const {
  return terminal_.empty() ? "127.0.0.1:" + std::to_string(port_) : terminal_.string();
}

void SimulatedInstrument::set_answer(const std::string& query, const std::string& answer) {
  const std::lock_guard lock(mutex_);
  answers_[query] = answer;
}

std::vector<std::string> SimulatedInstrument::asked() const {
  const std::lock_guard lock(mutex_);
  return asked_;
}

void SimulatedInstrument::plug(bool in) {
  wanted_in_ = in;
  while (is_in_ != in) std::this_thread::sleep_for(std::chrono::milliseconds(1));
}

// The port of the first time is kept, so that it comes back where it was.
void SimulatedInstrument::open_port() {
  listener_ = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  const int on = 1;
  setsockopt(listener_, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on);
  sockaddr_in where{};
  where.sin_family = AF_INET;
  where.sin_port = htons(static_cast<std::uint16_t>(port_));
  where.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  socklen_t size = sizeof where;
  if (bind(listener_, reinterpret_cast<sockaddr*>(&where), sizeof where) != 0 ||
      listen(listener_, 4) != 0 ||
      getsockname(listener_, reinterpret_cast<sockaddr*>(&where), &size) != 0) {
    throw std::runtime_error("no port for the simulated instrument");
  }
  port_ = ntohs(where.sin_port);
}

void SimulatedInstrument::open_terminal() {
  line_ = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
  if (line_ < 0 || grantpt(line_) != 0 || unlockpt(line_) != 0) {
    throw std::runtime_error("no pseudo-terminal for the simulated instrument");
  }
  // Nothing is echoed before the other side has set it up.
  termios setup{};
  tcgetattr(line_, &setup);
  cfmakeraw(&setup);
  tcsetattr(line_, TCSANOW, &setup);
  std::filesystem::remove(terminal_);
  std::filesystem::create_symlink(ptsname(line_), terminal_);
}

void SimulatedInstrument::close_all() {
  if (line_ >= 0) close(line_);
  if (listener_ >= 0) close(listener_);
  line_ = listener_ = -1;
  waiting_.clear();
  due_.clear();
  if (!terminal_.empty()) std::filesystem::remove(terminal_);
}

void SimulatedInstrument::run() {
  while (!ending_) {
    if (wanted_in_ != is_in_) {
      if (!wanted_in_) close_all();
      if (wanted_in_ && !terminal_.empty()) open_terminal();
      if (wanted_in_ && terminal_.empty() && listener_ < 0) open_port();
      is_in_ = wanted_in_.load();
    }
    pollfd both[2] = {{listener_, POLLIN, 0}, {line_, POLLIN, 0}};
    poll(both, 2, 2);
    if ((both[0].revents & POLLIN) != 0) {
      if (line_ >= 0) close(line_);  // one at a time, the newest
      line_ = accept(listener_, nullptr, nullptr);
      waiting_.clear();
      due_.clear();
      ++connections_;
    } else if ((both[1].revents & POLLIN) != 0) {
      serve(line_);
    } else if (both[1].revents != 0) {
      std::this_thread::sleep_for(std::chrono::milliseconds(2));  // nobody at the other end
    }
    send_due(line_);
  }
}

void SimulatedInstrument::serve(int descriptor) {
  std::array<char, 512> buffer{};
  const ssize_t count = read(descriptor, buffer.data(), buffer.size());
  if (count <= 0) {
    if (!terminal_.empty()) return;
    close(line_);
    line_ = -1;
    return;
  }
  waiting_.append(buffer.data(), static_cast<std::size_t>(count));
  for (std::size_t end = 0; (end = waiting_.find('\n')) != std::string::npos;) {
    std::string line = waiting_.substr(0, end);
    waiting_.erase(0, end + 1);
    if (!line.empty() && line.back() == '\r') line.pop_back();
    take(line);
  }
}

void SimulatedInstrument::take(const std::string& line) {
  const std::lock_guard lock(mutex_);
  asked_.push_back(line);
  const auto known = answers_.find(line);
  if (silent_ || known == answers_.end()) return;
  due_.emplace_back(Clock::now() + std::chrono::milliseconds(delay_ms_), known->second + "\n");
}

void SimulatedInstrument::send_due(int descriptor) {
  while (!due_.empty() && due_.front().first <= Clock::now() && descriptor >= 0) {
    const std::string& text = due_.front().second;
    if (send(descriptor, text.data(), text.size(), MSG_NOSIGNAL) < 0 && errno == ENOTSOCK) {
      (void)!write(descriptor, text.data(), text.size());
    }
    due_.erase(due_.begin());
  }
}

}  // namespace foundling
