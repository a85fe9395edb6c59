#include "tools/files/new_file.h"

#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <utility>

#include "tools/files/target.h"

namespace foundling {
namespace {

mode_t mode_for(const std::string& target) {
  struct stat old {};
  if (::stat(target.c_str(), &old) == 0) return old.st_mode & 0777U;
  const mode_t mask = ::umask(0);
  ::umask(mask);
  return 0666U & ~mask;
}

Result<void> check_free(const std::string& path, const std::string& target, NewFile::Over over) {
  if (over == NewFile::Over::other_files) return check_replaceable(path);
  struct stat there {};
  if (::lstat(target.c_str(), &there) != 0) return {};
  return Error{ErrorCode::exists, path + ": is there already; it is left as it is"};
}

}  // namespace

NewFile::NewFile(std::string path, std::string target, Over over, Unfinished unfinished)
    : path_(std::move(path)),
      target_(std::move(target)),
      over_(over),
      unfinished_(std::move(unfinished)) {}

Result<NewFile> NewFile::begin(const std::string& path, Over over) {
  std::string target = over == Over::nothing ? path : target_of(path);
  if (auto free = check_free(path, target, over); !free) return free.error();
  auto unfinished = Unfinished::begin(target, Unfinished::Kind::file);
  if (!unfinished) return unfinished.error();
  return NewFile(path, std::move(target), over, std::move(unfinished).value());
}

Result<void> NewFile::write(std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t written = ::write(unfinished_.descriptor(), bytes.data(), bytes.size());
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) return file_trouble(path_, "cannot be written");
    bytes.remove_prefix(static_cast<std::size_t>(written));
  }
  return {};
}

Result<void> NewFile::finish() {
  const int file = unfinished_.descriptor();
  if (::fchmod(file, mode_for(target_)) != 0 || ::fsync(file) != 0) {
    return file_trouble(path_, "cannot be written");
  }
  // Again: a recording may have begun there since.
  if (auto free = check_free(path_, target_, over_); !free) return free;
  auto named = give_name(unfinished_.name(), target_, over_ == Over::other_files);
  if (named) unfinished_.keep();
  return named;
}

}  // namespace foundling
