// A recording under way, made by the recorder's own storing part: numbered frames of one message.
#pragma once

#include <filesystem>
#include <memory>

#include "daemon/capture_sink.h"
#include "schemas/capture/session_clock.h"
#include "tests/must.h"

namespace foundling {

class RunningBoard {
 public:
  explicit RunningBoard(const std::filesystem::path& path, const FilePolicy& policy = {}) {
    start_session_clock(info_);
    sink_ = must(CaptureSink::open(path, policy, info_));
  }
  // Frames of 100 with rising numbers in bytes 0 and 1, low byte first, a millisecond apart.
  void store(int count) {
    RecordBatch batch;
    for (int i = 0; i < count; ++i, ++number) {
      Frame frame;
      frame.t_ns = next_ns;
      frame.id = CanId::standard(0x100);
      frame.length = 8;
      frame.payload[0] = static_cast<std::uint8_t>(number);
      frame.payload[1] = static_cast<std::uint8_t>(number >> 8);
      next_ns += 1'000'000;
      batch.frames.push_back(frame);
    }
    must(sink_->store(batch));
  }
  void stop() { must(sink_->finish(next_ns)); }

  int number = 0;
  std::int64_t next_ns = 0;  // on this recorder's own time line

 private:
  SessionInfo info_;
  std::unique_ptr<CaptureSink> sink_;
};

}  // namespace foundling
