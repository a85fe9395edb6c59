// A recording that goes on by itself: frames at an even rate, stored as the recorder stores them,
// in a thread. Knows when each was stored.
#pragma once

#include <atomic>
#include <chrono>
#include <filesystem>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "daemon/capture_sink.h"

namespace foundling {

// `messages` look-alike messages from identifier 100 on, each with a number (32 bits, counting all
// frames), a relay and a temperature whose code is reserved: temp_NNN says not-available.
[[nodiscard]] std::string feeder_map(int messages, int frames_per_s);

class Feeder {
 public:
  using Clock = std::chrono::steady_clock;

  // A batch is stored every `commit`, as foundlingd does every 150 ms.
  Feeder(std::filesystem::path capture, int messages, int frames_per_s,
         const FilePolicy& policy = {}, std::uint32_t first_number = 0,
         std::chrono::milliseconds commit = std::chrono::milliseconds(150));
  Feeder(const Feeder&) = delete;
  Feeder& operator=(const Feeder&) = delete;
  ~Feeder() { stop(); }

  // Ends the session as a recorder does that is told to.
  void stop();
  [[nodiscard]] std::uint32_t next_number() const { return number_; }
  // When the frame with this number was stored.
  [[nodiscard]] Clock::time_point stored_at(std::uint32_t number) const;

 private:
  void run();

  std::filesystem::path path_;
  int messages_;
  int frames_per_s_;
  FilePolicy policy_;
  std::uint32_t first_;
  std::chrono::milliseconds commit_;
  std::atomic<std::uint32_t> number_;
  std::atomic<bool> stopping_{false};
  mutable std::mutex guard_;
  std::vector<Clock::time_point> stored_;
  std::thread thread_;
};

}  // namespace foundling
