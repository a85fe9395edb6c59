#include "daemon/rolled_files.h"

#include <fcntl.h>
#include <sys/random.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <map>
#include <system_error>

#include "daemon/file_policy.h"
#include "daemon/recording_target.h"
#include "schemas/capture/capture_reader.h"
#include "schemas/capture/recording_lock.h"
#include "schemas/capture/rolled_chain.h"

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
  return last && *last && is_rolled_over_note((*last)->note);
}

void sync_folder(const fs::path& folder) {
  const int handle = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (handle < 0) return;
  ::fsync(handle);  // a file system that cannot keeps its names by its own means
  ::close(handle);
}

// A name that nobody can have prepared.
std::string random_letters() {
  std::array<unsigned char, 16> bytes{};
  if (getrandom(bytes.data(), bytes.size(), 0) < 0) bytes.fill(0);
  std::string letters;
  for (const unsigned char byte : bytes) letters += static_cast<char>('a' + byte % 26);
  return letters;
}

constexpr const char* link_in_the_making = ".link-";

// A recorder that was killed between making the link and giving it its name.
void remove_links_left_behind(const fs::path& base) {
  const std::string start = base.filename().string() + link_in_the_making;
  std::error_code failure;
  for (const auto& entry : fs::directory_iterator(folder_of(base), failure)) {
    const std::string name = entry.path().filename().string();
    if (name.starts_with(start) && entry.is_symlink(failure)) fs::remove(entry.path(), failure);
  }
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
  std::error_code failure;
  const auto there = fs::symlink_status(base, failure);
  if (fs::exists(there) && !fs::is_symlink(there)) {
    return Error{ErrorCode::exists, base.string() +
                                        ": something else has this name now, and is left; the "
                                        "recording goes on in " +
                                        file.string()};
  }
  remove_links_left_behind(base);
  const fs::path fresh = base.string() + link_in_the_making + random_letters();
  fs::create_symlink(file.filename(), fresh, failure);  // never over what is there
  if (!failure) {
    fs::rename(fresh, base, failure);
    std::error_code ignored;
    if (failure) fs::remove(fresh, ignored);
  }
  if (!failure) {
    sync_folder(folder_of(base));
    return {};
  }
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
  if (!removed.empty()) sync_folder(folder_of(base));
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
