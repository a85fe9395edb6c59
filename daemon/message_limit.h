// How many messages may be said: a handful at once, and then one every few seconds. Counts what was
// held back. Pure.
#pragma once

#include <algorithm>
#include <chrono>
#include <cstdint>

namespace foundling {

class MessageLimit {
 public:
  using Clock = std::chrono::steady_clock;

  MessageLimit(int at_once, std::chrono::milliseconds one_every)
      : at_once_(at_once), one_every_(one_every), left_(at_once) {}

  // Whether a message may be said now.
  bool admit(Clock::time_point now) {
    if (now - refilled_ >= one_every_) {
      const auto more = (now - refilled_) / one_every_;
      left_ = static_cast<int>(std::min<std::int64_t>(at_once_, left_ + more));
      refilled_ += more * one_every_;
    }
    if (left_ == 0) {
      ++held_back_;
      return false;
    }
    --left_;
    return true;
  }
  // Since the last call.
  std::uint64_t take_held_back() {
    const std::uint64_t count = held_back_;
    held_back_ = 0;
    return count;
  }

 private:
  int at_once_;
  std::chrono::milliseconds one_every_;
  int left_;
  Clock::time_point refilled_{};
  std::uint64_t held_back_ = 0;
};

}  // namespace foundling
