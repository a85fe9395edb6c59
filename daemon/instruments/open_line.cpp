// Opens the three kinds of line.
#include <fcntl.h>
#include <netdb.h>
#include <netinet/tcp.h>
#include <sys/ioctl.h>
#include <sys/socket.h>
#include <termios.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <charconv>
#include <cstring>
#include <optional>

#include "daemon/instruments/instrument_line.h"
#include "daemon/instruments/stream_line.h"
#include "daemon/instruments/usbtmc_line.h"

namespace foundling {
namespace {

using Line = std::unique_ptr<InstrumentLine>;

Error away(const std::string& why) { return {ErrorCode::io, why}; }

struct HostAndPort {
  std::string host;
  std::string port = "5025";
};

// "192.0.2.20:5025", "meter.example", "[2001:db8::20]:5025".
std::optional<HostAndPort> split(std::string_view address) {
  HostAndPort both;
  std::string_view rest;
  if (!address.empty() && address.front() == '[') {
    const std::size_t end = address.find(']');
    if (end == std::string_view::npos) return std::nullopt;
    both.host = address.substr(1, end - 1);
    rest = address.substr(end + 1);
  } else {
    const std::size_t end = std::min(address.find(':'), address.size());
    both.host = address.substr(0, end);
    rest = address.substr(end);
  }
  if (both.host.empty() || both.host.find(' ') != std::string::npos) return std::nullopt;
  if (rest.empty()) return both;
  int port = 0;
  const auto [after, failure] = std::from_chars(rest.data() + 1, rest.data() + rest.size(), port);
  if (rest.front() != ':' || failure != std::errc{} || after != rest.data() + rest.size() ||
      port < 1 || port > 65535) {
    return std::nullopt;
  }
  both.port = std::to_string(port);
  return both;
}

// A connected socket, or why not.
Result<int> connect_to(const addrinfo& where, const StopSign& stop, Deadline until) {
  const int file = socket(where.ai_family, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
  if (file < 0) return away(std::strerror(errno));
  const auto give_up = [&](int error) {
    close(file);
    return away(std::strerror(error));
  };
  if (connect(file, where.ai_addr, where.ai_addrlen) != 0 && errno != EINPROGRESS) {
    return give_up(errno);
  }
  if (stop.wait_for(file, true, until) != StopSign::Ready::yes) return give_up(ETIMEDOUT);
  int error = 0;
  socklen_t size = sizeof error;
  getsockopt(file, SOL_SOCKET, SO_ERROR, &error, &size);
  if (error != 0) return give_up(error);
  // A pulled cable shows by itself, queries leave at once.
  const int on = 1;
  setsockopt(file, SOL_SOCKET, SO_KEEPALIVE, &on, sizeof on);
  setsockopt(file, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
  return file;
}

Result<Line> open_tcp(const std::string& address, const StopSign& stop, Deadline until) {
  const auto where = split(address);
  if (!where) return away("no address of a host: \"" + address + '"');
  addrinfo wanted{};
  wanted.ai_socktype = SOCK_STREAM;
  addrinfo* found = nullptr;
  const int failure = getaddrinfo(where->host.c_str(), where->port.c_str(), &wanted, &found);
  if (failure != 0) return away(address + ": " + gai_strerror(failure));
  const std::unique_ptr<addrinfo, void (*)(addrinfo*)> all(found, freeaddrinfo);
  Error why = away("no address");
  for (const addrinfo* one = found; one != nullptr; one = one->ai_next) {
    const auto file = connect_to(*one, stop, until);
    if (file) return Line(std::make_unique<StreamLine>(*file, stop));
    why = file.error();
  }
  return away(address + ": " + why.message);
}

struct Speed {
  int baud;
  speed_t code;
};
constexpr std::array<Speed, 9> speeds{{{1200, B1200},
                                       {2400, B2400},
                                       {4800, B4800},
                                       {9600, B9600},
                                       {19200, B19200},
                                       {38400, B38400},
                                       {57600, B57600},
                                       {115200, B115200},
                                       {230400, B230400}}};

const Speed* find_speed(int baud) {
  for (const Speed& speed : speeds) {
    if (speed.baud == baud) return &speed;
  }
  return nullptr;
}

// Bytes as they are, 8N1, no flow control, whatever the modem lines say.
Result<Line> open_serial(const std::string& path, int baud, const StopSign& stop) {
  const int file = open(path.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
  if (file < 0) return away(path + ": " + std::strerror(errno));
  auto line = std::make_unique<StreamLine>(file, stop);  // closes it in any case
  termios setup{};
  if (tcgetattr(file, &setup) != 0) return away(path + ": no serial line");
  cfmakeraw(&setup);
  setup.c_cflag |= CLOCAL | CREAD;
  setup.c_cflag &= ~static_cast<tcflag_t>(CSTOPB | CRTSCTS | PARENB);
  setup.c_cc[VMIN] = 0;
  setup.c_cc[VTIME] = 0;
  const Speed* const speed = find_speed(baud);
  if (speed == nullptr || cfsetispeed(&setup, speed->code) != 0 ||
      cfsetospeed(&setup, speed->code) != 0 || tcsetattr(file, TCSANOW, &setup) != 0) {
    return away(path + ": cannot be set to " + std::to_string(baud) + " baud");
  }
  tcflush(file, TCIOFLUSH);
  return Line(std::move(line));
}

}  // namespace

OpenLine line_opener(const InstrumentSettings& settings, const StopSign& stop) {
  const std::string address = settings.address;
  switch (settings.line) {
    case LineKind::tcp:
      return [address, &stop](Deadline until) { return open_tcp(address, stop, until); };
    case LineKind::serial:
      return [address, baud = settings.baud, &stop](Deadline) {
        return open_serial(address, baud, stop);
      };
    case LineKind::usbtmc:
      break;
  }
  return [address](Deadline) { return UsbtmcLine::open(address); };
}

std::string fault_of_address(LineKind kind, std::string_view address) {
  if (kind == LineKind::tcp) {
    return split(address) ? "" : "expected HOST or HOST:PORT, like 192.0.2.20:5025";
  }
  return !address.empty() && address.front() == '/' ? ""
                                                    : "expected a device's path, like /dev/...";
}

bool is_baud_rate(int baud) { return find_speed(baud) != nullptr; }

}  // namespace foundling
