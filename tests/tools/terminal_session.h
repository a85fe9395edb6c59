// The program in a pseudo-terminal of its own, as a person has it: what it shows is waited for,
// what a person would type is typed, and it can be killed in the midst of it.
#pragma once

#include <fcntl.h>
#include <poll.h>
#include <pty.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <filesystem>
#include <string>

namespace foundling {

class TerminalSession {
 public:
  // `words` stand behind the program's name, for the shell.
  TerminalSession(const std::filesystem::path& folder, const std::string& words) {
    const std::string line =
        "cd '" + folder.string() + "' && exec '" FOUNDLING_PROGRAM "' " + words;
    winsize size{40, 100, 0, 0};
    child_ = forkpty(&terminal_, nullptr, nullptr, &size);
    if (child_ == 0) {
      execl("/bin/sh", "sh", "-c", line.c_str(), static_cast<char*>(nullptr));
      _exit(127);
    }
  }
  ~TerminalSession() {
    if (child_ > 0) kill_it();
    close(terminal_);
  }
  TerminalSession(const TerminalSession&) = delete;
  TerminalSession& operator=(const TerminalSession&) = delete;

  // Whether the text is shown within half a minute, after what was waited for before.
  bool shows(const std::string& text) {
    const auto until = std::chrono::steady_clock::now() + std::chrono::seconds(30);
    for (;;) {
      const auto at = shown_.find(text, looked_);
      if (at != std::string::npos) {
        looked_ = at + text.size();
        return true;
      }
      if (std::chrono::steady_clock::now() > until || !read_some()) return false;
    }
  }
  void type(const std::string& keys) { (void)!write(terminal_, keys.data(), keys.size()); }
  void kill_it() {
    ::kill(child_, SIGKILL);
    waitpid(child_, nullptr, 0);
    child_ = -1;
  }
  // Its exit status, once it has ended by itself.
  int status() {
    while (read_some()) {
    }
    int status = 0;
    waitpid(child_, &status, 0);
    child_ = -1;
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  }
  [[nodiscard]] const std::string& shown() const { return shown_; }

 private:
  bool read_some() {
    pollfd ready{terminal_, POLLIN, 0};
    if (poll(&ready, 1, 200) == 0) return true;
    char buffer[1024];
    const ssize_t count = read(terminal_, buffer, sizeof buffer);
    if (count <= 0) return false;
    shown_.append(buffer, static_cast<std::size_t>(count));
    return true;
  }

  int terminal_ = -1;
  pid_t child_ = -1;
  std::string shown_;
  std::size_t looked_ = 0;
};

}  // namespace foundling
