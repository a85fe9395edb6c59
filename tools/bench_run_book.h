// What a bench run writes into the running capture, and what it looks up there. The capture is
// opened for each and let go of, so that the recorder may roll over to another file meanwhile: then
// the marks of the run are written into the new file as well, and a correction goes into both.
// Everything written by one call into one file is there whole, or not at all.
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

struct RunEntry {
  Channel channel;
  Reading reading;                  // t_ns of a new one is set by write()
  std::int64_t number = 0;          // once it is stored,
  std::filesystem::path file = {};  // and in which of the recording's files
};

class RunBook {
 public:
  explicit RunBook(std::filesystem::path capture) : capture_(std::move(capture)) {}

  // All of these: an error unless a recorder is at work on the capture.
  Result<std::int64_t> now();  // on the boot clock, which all files of a recording share
  Result<void> mark(std::string_view kind, const std::string& text);
  // All at the same moment, now.
  Result<void> write(std::vector<RunEntry>& entries);
  // Each supersedes its stored reading, whose time it keeps.
  Result<void> correct(std::vector<RunEntry>& entries);
  Result<void> withdraw(const std::vector<RunEntry>& entries);

  // Of the present session; where it has none of a plan and began by rolling over, of the file
  // before, and so on.
  Result<std::vector<StoredMark>> marks();
  Result<std::vector<Channel>> channels();
  // The valid readings of a channel from that time of the boot clock on.
  Result<std::vector<Reading>> readings_since(const std::string& channel, std::int64_t from_ns);

 private:
  struct Opened;
  Result<Opened> open() const;
  template <typename Work>
  Result<void> in_present(const Opened& opened, Work work);

  const std::filesystem::path capture_;
  // The plan's and the steps' marks in order, and the file that has them.
  std::vector<Mark> story_;
  std::filesystem::path story_file_;
};

}  // namespace foundling
