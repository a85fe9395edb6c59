// What a bench run writes into the running capture, and what it looks up there. The capture is
// opened for each and let go of, so that the recorder may roll over to another file meanwhile: then
// the marks of the run are written into the new file as well, and a correction goes into both. So
// too when the recorder was started anew, in another session of the same file or in another file;
// then what stands is written there as well, which a recorder that rolls over does by itself.
// Everything written by one call into one file is there whole, or not at all; so is what is taken
// over into it, before.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "schemas/capture/rows.h"
#include "schemas/values/reading.h"
#include "schemas/values/result.h"

namespace foundling {

struct StoredPlace {  // of a reading
  std::int64_t number = 0;
  std::filesystem::path file = {};  // which of the recording's
  std::int64_t session = 0;         // of that file
};

struct RunEntry {
  Channel channel;
  Reading reading;                           // t_ns of a new one is set by write()
  StoredPlace at = {};                       // once it is stored
  std::int64_t asked_ns = Reading::no_time;  // since when it may be so, on the boot clock
};

class RunBook {
 public:
  // `before`: another capture, in whose last session the run may have begun; empty: none.
  explicit RunBook(std::filesystem::path capture, std::filesystem::path before = {})
      : capture_(std::move(capture)), before_(std::move(before)) {}

  // All of these: an error unless a recorder is at work on the capture.
  Result<std::int64_t> now();  // on the boot clock, which all files of a recording share
  Result<void> mark(std::string_view kind, const std::string& text);
  // All at the same moment, now.
  Result<void> write(std::vector<RunEntry>& entries);
  // Each supersedes its stored reading, whose time it keeps.
  Result<void> correct(std::vector<RunEntry>& entries);
  Result<void> withdraw(const std::vector<RunEntry>& entries);

  // Of the present session; where it has none of a plan and began by rolling over, of the file
  // before, and so on. Where the recorder was started anew, of the session before in which this
  // plan was begun, if it was not finished there.
  Result<std::vector<StoredMark>> marks(const std::string& plan_text);
  // Whether those marks are from before the recorder was started anew, and what stood then. It is
  // written into the present session with what is written next.
  [[nodiscard]] bool was_begun_anew() const { return !standing_.empty(); }
  [[nodiscard]] const std::vector<StoredReading>& standing() const { return standing_; }
  // When the last of those marks was made, or the last with these words, on the boot clock. Nothing
  // where the recorder was started anew since: the machine may have been, too.
  [[nodiscard]] std::optional<std::int64_t> marked_ns(const std::string& words = {}) const;
  Result<std::vector<Channel>> channels();
  // The valid readings of a channel from that time of the boot clock on.
  Result<std::vector<Reading>> readings_since(const std::string& channel, std::int64_t from_ns);

 private:
  struct Opened;
  struct Story {  // the plan's and the steps' marks in order, and where they are
    std::vector<Mark> marks;
    std::filesystem::path file;
    std::int64_t session = 0;
    std::optional<std::int64_t> started_boot_ns = {};  // of the session; nothing: begun anew since
  };
  Result<Opened> open() const;
  Result<std::vector<StoredMark>> marks_before(const Opened& opened, const std::string& plan_text);
  Result<bool> take(const std::filesystem::path& file, const std::string& plan_text,
                    std::int64_t before_session, std::vector<StoredMark>& marks);
  [[nodiscard]] bool is_elsewhere(const RunEntry& entry, const Opened& opened) const;
  Result<void> take_over(const Opened& opened);

  const std::filesystem::path capture_;
  const std::filesystem::path before_;
  Story story_;
  std::vector<StoredReading> standing_;
};

}  // namespace foundling
