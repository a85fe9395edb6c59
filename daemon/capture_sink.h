// Stores batches in a capture, each in one transaction, and looks after its file: rolls over to a
// new one, leaves some of the disk alone, notices that the file is gone, opens it anew after a
// fault. Every file has a session of its own; what spans two is moved onto the time of each.
#pragma once

#include <array>
#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <set>
#include <span>
#include <string>
#include <vector>

#include "daemon/file_policy.h"
#include "daemon/record_sink.h"
#include "schemas/capture/capture_writer.h"

namespace foundling {

class CaptureSink final : public RecordSink {
 public:
  // Opens or makes the capture and begins a session. `info` has the start of the session in
  // started_boot_ns: t_ns 0 of all batches.
  static Result<std::unique_ptr<CaptureSink>> open(const std::filesystem::path& path,
                                                   const FilePolicy& policy,
                                                   const SessionInfo& info);

  Result<void> store(const RecordBatch& batch) override;
  // Ends the session and folds the file's log in.
  Result<void> finish(std::int64_t ended_ns);
  std::uint64_t take_removed() override;

  // For the thread that stores; before and after it for anybody.
  [[nodiscard]] const std::filesystem::path& file() const { return file_; }
  [[nodiscard]] std::int64_t session() const { return session_; }

 private:
  CaptureSink(std::filesystem::path path, const FilePolicy& policy, const SessionInfo& info);

  Result<void> begin(const std::filesystem::path& file, std::int64_t from_ns);
  [[nodiscard]] Result<void> check_disk() const;
  enum class Batch : std::uint8_t { missing, stored };
  // When its frames begin, so that none lies before the start of the session that it opens.
  static std::int64_t start_of(const RecordBatch& batch);
  static std::uint64_t lost_in(const std::vector<Gap>& gaps);

  // In reopen_capture.cpp: what is done when the file is not where it was, or had a fault.
  Result<Batch> reopen(const RecordBatch& batch);
  bool is_displaced();
  [[nodiscard]] FilePlace place_of_closed() const;
  Result<void> leave(FilePlace place, std::int64_t ended_ns);
  void owe_all_frames();
  void give_log_back() const;
  Result<void> begin_again(std::int64_t from_ns);
  [[nodiscard]] bool holds(const RecordBatch& batch) const;
  void begin_count();
  void count(const RecordBatch& batch);
  Result<void> roll(std::int64_t now_ns);
  Result<void> add_all(const RecordBatch& batch);
  Result<void> add_frames(std::span<const Frame> frames);
  Result<void> add_readings(const std::vector<ChannelReading>& readings);
  bool roll_is_due(std::int64_t now_ns);

  const std::filesystem::path path_;  // as asked for: a link where files are rolled
  const FilePolicy policy_;
  const SessionInfo first_;  // the first session; later ones differ in their start
  std::filesystem::path file_;
  std::optional<CaptureWriter> writer_;
  std::int64_t session_ = 0;
  std::int64_t from_ns_ = 0;  // the present session's start, on the first one's time
  std::uint64_t frames_ = 0, frames_before_ = 0;  // stored in all, and before this session
  std::uint64_t lost_ = 0, lost_before_ = 0;
  std::uint64_t folder_device_ = 0, file_device_ = 0, file_number_ = 0, log_number_ = 0;
  std::vector<Gap> owed_;  // for frames of removed files, on the first session's time
  std::array<std::uint64_t, 256> of_bus_{};  // frames of the present session
  std::uint64_t removed_ = 0;                // frames that went so, until somebody asks
  std::int64_t no_roll_before_ns_ = 0;       // a roll that failed is not tried at every commit
  std::set<std::string> refused_channels_;
  bool said_folder_moved_ = false;
  bool broken_ = false;  // the connection had a fault: open the file anew
};

}  // namespace foundling
