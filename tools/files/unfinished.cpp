#include "tools/files/unfinished.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/random.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <string_view>
#include <system_error>
#include <utility>

#include "tools/files/target.h"

namespace foundling {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view mark = ".unfinished-";
constexpr std::size_t letters = 16;  // of 32: 80 bits
constexpr std::string_view alphabet = "abcdefghijklmnopqrstuvwxyz234567";

Result<std::string> random_letters() {
  std::array<std::uint8_t, letters> bytes{};
  if (::getrandom(bytes.data(), bytes.size(), 0) != static_cast<ssize_t>(bytes.size())) {
    return file_trouble("the system's random numbers", "cannot be read");
  }
  std::string out;
  for (const std::uint8_t byte : bytes) out += alphabet[byte % alphabet.size()];
  return out;
}

fs::path folder_of(const std::string& name) {
  const fs::path folder = fs::path(name).parent_path();
  return folder.empty() ? "." : folder;
}

bool is_leftover_name(std::string_view name, std::string_view of) {
  if (!name.starts_with(of)) return false;
  name.remove_prefix(of.size());
  if (!name.starts_with(mark)) return false;
  name.remove_prefix(mark.size());
  return name.size() == letters && name.find_first_not_of(alphabet) == std::string_view::npos;
}

// Ours, and held by nobody: its builder is gone.
bool is_abandoned(const fs::path& path) {
  const int there = ::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);
  if (there < 0) return false;
  struct stat facts {};
  const bool ours = ::fstat(there, &facts) == 0 && facts.st_uid == ::geteuid() &&
                    (S_ISREG(facts.st_mode) || S_ISDIR(facts.st_mode));
  const bool abandoned = ours && ::flock(there, LOCK_EX | LOCK_NB) == 0;
  ::close(there);
  return abandoned;
}

void remove_leftovers(const std::string& target) {
  const std::string name = fs::path(target).filename().string();
  std::error_code failure;
  for (fs::directory_iterator entry(folder_of(target), failure), end; !failure && entry != end;
       entry.increment(failure)) {
    const std::string found = entry->path().filename().string();
    std::error_code ignored;
    if (is_leftover_name(found, name) && is_abandoned(entry->path())) {
      fs::remove_all(entry->path(), ignored);
    }
  }
}

int create(const std::string& name, Unfinished::Kind kind) {
  if (kind == Unfinished::Kind::file) {
    return ::open(name.c_str(), O_RDWR | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600);
  }
  if (::mkdir(name.c_str(), 0700) != 0) return -1;
  return ::open(name.c_str(), O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
}

// Somebody who clears up may have taken it for abandoned between its making and the lock.
bool is_there(int descriptor, const std::string& name) {
  struct stat mine {};
  struct stat there {};
  return ::fstat(descriptor, &mine) == 0 && ::lstat(name.c_str(), &there) == 0 &&
         mine.st_dev == there.st_dev && mine.st_ino == there.st_ino;
}

Result<void> sync_folder(const std::string& of) {
  const fs::path folder = folder_of(of);
  const int there = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (there < 0) return {};  // a folder that takes files but shows none cannot be synced
  const bool good = ::fsync(there) == 0 || errno == EINVAL;  // not every file system can
  Error error = good ? Error{} : file_trouble(folder.string(), "cannot be synced");
  ::close(there);
  if (!good) return error;
  return {};
}

bool link_and_unlink(const std::string& from, const std::string& to) {
  if (::link(from.c_str(), to.c_str()) != 0) return false;
  ::unlink(from.c_str());
  return true;
}

}  // namespace

Result<Unfinished> Unfinished::begin(const std::string& target, Kind kind) {
  remove_leftovers(target);
  for (;;) {
    const auto word = random_letters();
    if (!word) return word.error();
    const std::string name = target + std::string(mark) + *word;
    const int descriptor = create(name, kind);
    if (descriptor < 0) return file_trouble(target, "cannot be written beside");
    Unfinished made(name, descriptor);
    // Where locks are unknown, nobody clears up either: is_abandoned() needs one.
    (void)::flock(descriptor, LOCK_EX);
    if (is_there(descriptor, name)) return made;
    made.keep();
  }
}

Unfinished::Unfinished(Unfinished&& other) noexcept
    : name_(std::exchange(other.name_, {})), descriptor_(std::exchange(other.descriptor_, -1)) {}

Unfinished::~Unfinished() {
  std::error_code ignored;
  if (!name_.empty()) fs::remove_all(name_, ignored);
  if (descriptor_ >= 0) ::close(descriptor_);
}

Result<void> give_name(const std::string& from, const std::string& to, bool over) {
  bool good = false;
  if (over) {
    good = std::rename(from.c_str(), to.c_str()) == 0;
  } else {
    // Not every file system can refuse a taken name in the same step as it gives it.
    good = ::renameat2(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), RENAME_NOREPLACE) == 0 ||
           (errno == EINVAL && link_and_unlink(from, to));
  }
  if (!good && errno == EEXIST) {
    return Error{ErrorCode::exists, to + ": is there already; it is left as it is"};
  }
  if (!good) return file_trouble(to, "cannot be written");
  return sync_folder(to);
}

}  // namespace foundling
