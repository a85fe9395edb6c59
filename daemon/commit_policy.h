// When the writer commits, and how long it waits after a failure. Pure.
#pragma once

#include <algorithm>
#include <chrono>
#include <cstddef>

namespace foundling {

struct CommitPolicy {
  // A recorder that is killed loses what was not committed: at most 250 ms of frames. So much
  // waiting leaves 100 ms for reading, the commit itself and a slow disk.
  std::chrono::milliseconds longest_wait{150};
  // A full batch goes at once, so that a commit stays short and others can write in between.
  std::size_t full_batch = 20'000;

  // How long a batch whose oldest record has waited for `age` may still wait; zero: commit.
  [[nodiscard]] std::chrono::nanoseconds wait(std::chrono::nanoseconds age,
                                              std::size_t frames) const {
    if (frames >= full_batch) return std::chrono::nanoseconds::zero();
    return std::max<std::chrono::nanoseconds>(longest_wait - age, std::chrono::nanoseconds::zero());
  }
};

// Waits that double from the first to the longest; reset by success.
class Backoff {
 public:
  Backoff(std::chrono::milliseconds first, std::chrono::milliseconds longest)
      : first_(first), longest_(longest), next_(first) {}

  std::chrono::milliseconds next() {
    const auto wait = next_;
    next_ = std::min(next_ * 2, longest_);
    return wait;
  }
  void reset() { next_ = first_; }

 private:
  std::chrono::milliseconds first_, longest_, next_;
};

}  // namespace foundling
