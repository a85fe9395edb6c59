// Frames of a capture as they are stored, on and on: across sessions (the recorder was restarted),
// across rolled files, and across a file that was replaced. Reads in short steps and holds nothing
// open between them, so that the recorder's log can always be folded in. The recorder may be away;
// then there are no frames, and that is all.
//
// All sessions share one time line, that of the first: by the machine's boot clock where both have
// it, else by the wall clock.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "schemas/capture/capture_reader.h"
#include "schemas/capture/rows.h"
#include "schemas/values/result.h"

namespace foundling {

class CaptureFollower {
 public:
  enum class Start { with_what_is_stored, with_what_comes };

  // `session`: where to begin; the last one with frames if not said.
  static Result<CaptureFollower> open(const std::filesystem::path& path, Start start,
                                      std::optional<std::int64_t> session = {});

  // The next frames, in stored order and with their times on the first session's line; at most
  // 8,192, none where none are there yet. They stand until the next call. An error says what
  // hinders reading now; another call tries again.
  Result<std::span<const Frame>> next();

  // Since the last call: the recording went on in another session or file, so frames in between may
  // be missing and counters start anew. Each is told once, in words.
  [[nodiscard]] std::vector<std::string> news();

  [[nodiscard]] const SessionRow& session() const { return session_; }
  [[nodiscard]] const std::filesystem::path& file() const { return file_; }
  // Now on the time line; nothing where the recording is not of this machine and boot.
  [[nodiscard]] std::optional<std::int64_t> now_ns() const;
  // Unix time of a moment of the time line; 0 where the capture does not know.
  [[nodiscard]] std::int64_t utc_ns(std::int64_t t_ns) const;

 private:
  CaptureFollower(std::filesystem::path path, CaptureReader reader);

  Result<void> enter(const SessionRow& session);
  Result<bool> move_on();  // to the next session or file, once this one is read to its end
  Result<bool> move_to_file(const std::filesystem::path& file, const std::string& why);
  [[nodiscard]] bool is_replaced() const;
  void note_identity();
  void refresh_clock();

  std::filesystem::path path_;  // as given: a link where files are rolled
  std::filesystem::path file_;  // what is read now
  CaptureReader reader_;
  SessionRow session_;
  SessionInfo first_;
  std::int64_t row_ = 0;       // the last one read
  std::int64_t shift_ns_ = 0;  // of this session against the first
  std::int64_t wall_offset_ns_ = 0;
  std::int64_t look_again_ns_ = 0;  // boot clock; sessions and files are not asked for every time
  std::int64_t clock_again_ns_ = 0;
  bool left_ = false;  // the path names another file than the one that is read
  std::uint64_t device_ = 0;
  std::uint64_t inode_ = 0;
  std::vector<Frame> frames_;
  std::vector<std::string> news_;
};

}  // namespace foundling
