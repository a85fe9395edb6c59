#include "tests/live/feeder.h"

#include <cstdio>
#include <stdexcept>

#include "schemas/capture/session_clock.h"

namespace foundling {

std::string feeder_map(int messages, int frames_per_s) {
  std::string text = "foundling signals 1\n";
  for (int i = 0; i < messages; ++i) {
    char part[512];
    std::snprintf(part, sizeof part,
                  "message %03X every %d ms length 8\n"
                  "  signal number_%03d\n    bits 3.7..0.0\n"
                  "  signal relay_%03d\n    bits 4.0\n    state 0 = open\n    state 1 = closed\n"
                  "  signal temp_%03d\n    bits 5.7..5.0\n    value = raw - 40 °C\n"
                  "    reserved 0xFF not-available\n",
                  0x100 + i, 1000 * messages / frames_per_s, i, i, i);
    text += part;
  }
  return text;
}

Feeder::Feeder(std::filesystem::path capture, int messages, int frames_per_s,
               const FilePolicy& policy, std::uint32_t first_number,
               std::chrono::milliseconds commit)
    : path_(std::move(capture)),
      messages_(messages),
      frames_per_s_(frames_per_s),
      policy_(policy),
      first_(first_number),
      commit_(commit),
      number_(first_number),
      thread_([this] { run(); }) {}

void Feeder::stop() {
  stopping_ = true;
  if (thread_.joinable()) thread_.join();
}

Feeder::Clock::time_point Feeder::stored_at(std::uint32_t number) const {
  const std::lock_guard lock(guard_);
  return stored_.at(number - first_);
}

void Feeder::run() {
  SessionInfo info;
  start_session_clock(info);
  auto sink = CaptureSink::open(path_, policy_, info);
  if (!sink) throw std::runtime_error(sink.error().message);
  const std::int64_t step_ns = 1'000'000'000 / frames_per_s_;
  std::int64_t next_ns = boottime_now_ns() - info.started_boot_ns;
  auto next_commit = Clock::now() + commit_;
  while (!stopping_) {
    std::this_thread::sleep_until(next_commit);
    next_commit += commit_;
    RecordBatch batch;
    for (; next_ns <= boottime_now_ns() - info.started_boot_ns; next_ns += step_ns) {
      const std::uint32_t number = number_ + static_cast<std::uint32_t>(batch.frames.size());
      Frame frame;
      frame.t_ns = next_ns;
      frame.id = CanId::standard(0x100 + number % static_cast<std::uint32_t>(messages_));
      frame.length = 8;
      for (std::uint32_t b = 0; b < 4; ++b) {
        frame.payload[b] = static_cast<std::uint8_t>(number >> 8 * b);
      }
      frame.payload[4] = 1;
      frame.payload[5] = 0xFF;
      batch.frames.push_back(frame);
    }
    if (auto stored = (*sink)->store(batch); !stored)
      throw std::runtime_error(stored.error().message);
    const std::lock_guard lock(guard_);
    stored_.resize(stored_.size() + batch.frames.size(), Clock::now());
    number_ += static_cast<std::uint32_t>(batch.frames.size());
  }
  (void)(*sink)->finish(boottime_now_ns() - info.started_boot_ns);
}

}  // namespace foundling
