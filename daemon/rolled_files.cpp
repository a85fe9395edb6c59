#include "daemon/rolled_files.h"

#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <map>
#include <system_error>

#include "daemon/file_policy.h"
#include "daemon/recording_target.h"
#include "schemas/capture/capture_reader.h"
#include "schemas/capture/recording_lock.h"

namespace foundling {
namespace {

namespace fs = std::filesystem;

// Read from the file itself, so that nothing is removed for its name alone.
bool was_rolled_over(const fs::path& file) {
  auto reader = CaptureReader::open(file);
  if (!reader) return false;
  const auto sessions = reader->sessions();
  if (!sessions || sessions->empty() || !sessions->back().ended) return false;
  const auto last = reader->last_health(sessions->back().id);
  return last && *last && (*last)->note.starts_with(rolled_over_note);
}

}  // namespace

fs::path next_file(const fs::path& base) {
  std::uint64_t last = 0;
  std::error_code failure;
  for (const auto& entry : fs::directory_iterator(folder_of(base), failure)) {
    last = std::max(last, rolled_number(base, entry.path().filename().string()).value_or(0));
  }
  return rolled_path(base, last + 1);
}

Result<fs::path> present_file(const fs::path& base) {
  std::error_code failure;
  const auto status = fs::symlink_status(base, failure);
  if (!fs::exists(status)) return next_file(base);
  if (!fs::is_symlink(status)) {
    return Error{ErrorCode::exists,
                 base.string() +
                     ": is a capture of its own; a recording that rolls over needs this "
                     "name for a link to its present file. Give it another name"};
  }
  const fs::path target = fs::read_symlink(base, failure);
  if (failure || !rolled_number(base, target.filename().string())) {
    return Error{ErrorCode::exists, base.string() + ": is a link to " + target.string() +
                                        ", which is no file of this recording; nothing is changed"};
  }
  fs::path file = folder_of(base) / target;
  if (!fs::exists(file, failure)) return next_file(base);
  return file;
}

Result<void> point_to(const fs::path& base, const fs::path& file) {
  const fs::path fresh = base.string() + ".new";
  std::error_code failure;
  fs::remove(fresh, failure);
  fs::create_symlink(file.filename(), fresh, failure);
  if (!failure) fs::rename(fresh, base, failure);
  if (!failure) return {};
  return Error{ErrorCode::io, base.string() + ": cannot be made a link to " + file.string() + ": " +
                                  failure.message() +
                                  " (rolling over needs a file system with links)"};
}

std::vector<fs::path> remove_oldest(const fs::path& base, std::size_t keep) {
  std::error_code failure;
  const fs::path present = fs::read_symlink(base, failure).filename();
  std::map<std::uint64_t, fs::path> finished;
  for (const auto& entry : fs::directory_iterator(folder_of(base), failure)) {
    const fs::path name = entry.path().filename();
    const auto number = rolled_number(base, name.string());
    if (number && name != present && entry.is_regular_file(failure) &&
        was_rolled_over(entry.path())) {
      finished.emplace(*number, entry.path());
    }
  }
  std::vector<fs::path> removed;
  for (const auto& [number, file] : finished) {
    if (finished.size() - removed.size() + 1 <= keep) break;
    if (!fs::remove(file, failure)) break;
    removed.push_back(file);
  }
  return removed;
}

Result<void> carry_readings_over(const fs::path& old_file, std::int64_t old_session,
                                 std::int64_t shift_ns, CaptureWriter& into, std::int64_t session) {
  auto reader = CaptureReader::open(old_file);
  if (!reader) return reader.error();
  const auto channels = reader->channel_series(old_session);
  if (!channels) return channels.error();
  for (const ChannelSeries& series : *channels) {
    if (series.readings.empty() || series.channel.kind != ChannelKind::hold) continue;
    const auto channel = into.ensure_channel(series.channel);
    if (!channel) return channel.error();
    Reading reading = series.readings.back();
    reading.t_ns -= shift_ns;
    if (reading.earliest_ns != Reading::no_time) reading.earliest_ns -= shift_ns;
    if (auto added = into.add_readings(session, *channel, std::span(&reading, 1)); !added) {
      return added;
    }
  }
  return {};
}

}  // namespace foundling
