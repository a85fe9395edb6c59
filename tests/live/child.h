// Another program while a test runs: started with words, its messages kept in a file, ended at the
// latest with the object.
#pragma once

#include <chrono>
#include <filesystem>
#include <string>
#include <vector>

namespace foundling {

class Child {
 public:
  Child(const std::vector<std::string>& words, std::filesystem::path messages);
  Child(const Child&) = delete;
  Child& operator=(const Child&) = delete;
  ~Child();

  void send(int signal) const;
  // Its exit status; -1 where a signal ended it. Ends the test where it takes longer than that.
  int wait(std::chrono::milliseconds longest = std::chrono::seconds(10));
  int end(int signal) {
    send(signal);
    return wait();
  }
  [[nodiscard]] std::string messages() const;

 private:
  int process_ = -1;
  std::filesystem::path messages_;
};

// True as soon as `condition` is, false where it is not after so long.
template <typename Condition>
bool within(std::chrono::milliseconds longest, Condition condition);

// A TCP port of loopback that is free now.
[[nodiscard]] int free_port();
void sleep_for(std::chrono::milliseconds time);

template <typename Condition>
bool within(std::chrono::milliseconds longest, Condition condition) {
  const auto until = std::chrono::steady_clock::now() + longest;
  while (!condition()) {
    if (std::chrono::steady_clock::now() > until) return false;
    sleep_for(std::chrono::milliseconds(10));
  }
  return true;
}

}  // namespace foundling
