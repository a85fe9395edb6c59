#include "tests/live/child.h"

#include <fcntl.h>
#include <netinet/in.h>
#include <signal.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <fstream>
#include <iterator>
#include <stdexcept>
#include <thread>

namespace foundling {

Child::Child(const std::vector<std::string>& words, std::filesystem::path messages)
    : messages_(std::move(messages)) {
  std::vector<char*> arguments;
  for (const std::string& word : words) arguments.push_back(const_cast<char*>(word.c_str()));
  arguments.push_back(nullptr);
  process_ = fork();
  if (process_ < 0) throw std::runtime_error("cannot fork");
  if (process_ > 0) return;
  const int file = open(messages_.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
  dup2(file, STDERR_FILENO);
  const int out = open((messages_.string() + ".out").c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
  dup2(out, STDOUT_FILENO);
  execvp(arguments[0], arguments.data());
  _exit(127);
}

Child::~Child() {
  if (process_ <= 0) return;
  kill(process_, SIGKILL);
  waitpid(process_, nullptr, 0);
}

void Child::send(int signal) const {
  if (process_ > 0) kill(process_, signal);
}

int Child::wait(std::chrono::milliseconds longest) {
  int status = 0;
  const bool ended =
      within(longest, [&] { return waitpid(process_, &status, WNOHANG) == process_; });
  if (!ended) throw std::runtime_error("the program does not end: " + messages());
  process_ = -1;
  return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

std::string Child::messages() const {
  std::ifstream file(messages_);
  return {std::istreambuf_iterator<char>(file), {}};
}

int free_port() {
  const int probe = socket(AF_INET, SOCK_STREAM, 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  socklen_t size = sizeof address;
  auto* const plain = reinterpret_cast<sockaddr*>(&address);
  if (bind(probe, plain, size) != 0 || getsockname(probe, plain, &size) != 0) {
    throw std::runtime_error("no free port");
  }
  close(probe);
  return ntohs(address.sin_port);
}

void sleep_for(std::chrono::milliseconds time) { std::this_thread::sleep_for(time); }

}  // namespace foundling
