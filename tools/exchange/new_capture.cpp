#include "tools/exchange/new_capture.h"

#include <signal.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <string>
#include <system_error>
#include <utility>

namespace foundling {
namespace {

// What a signal handler may do is little: the name lies ready for unlink(2).
std::array<char, 4096> name_to_remove{};

extern "C" void remove_and_stop(int) {
  ::unlink(name_to_remove.data());
  ::_exit(2);
}

void remove_on_signal(const std::string& name) {
  if (name.size() >= name_to_remove.size()) return;
  std::copy(name.begin(), name.end(), name_to_remove.begin());
  name_to_remove[name.size()] = '\0';
  struct sigaction action {};
  action.sa_handler = remove_and_stop;
  for (const int number : {SIGINT, SIGTERM, SIGHUP}) sigaction(number, &action, nullptr);
}

void let_signals_be() {
  for (const int number : {SIGINT, SIGTERM, SIGHUP}) ::signal(number, SIG_DFL);
}

}  // namespace

NewCapture::NewCapture(CaptureWriter writer, std::filesystem::path path,
                       std::filesystem::path unfinished)
    : writer_(std::move(writer)), path_(std::move(path)), unfinished_(std::move(unfinished)) {}

NewCapture::NewCapture(NewCapture&& other) noexcept
    : writer_(std::move(other.writer_)),
      path_(std::move(other.path_)),
      unfinished_(std::exchange(other.unfinished_, {})) {}

Result<NewCapture> NewCapture::start(const std::filesystem::path& path) {
  std::error_code ignored;
  if (std::filesystem::exists(std::filesystem::symlink_status(path, ignored))) {
    return Error{ErrorCode::exists, path.string() + ": is there already; it is left as it is"};
  }
  std::filesystem::path unfinished = path;
  unfinished += ".unfinished-" + std::to_string(::getpid());
  auto writer = CaptureWriter::create(unfinished, CaptureWriter::Purpose::building);
  if (!writer) {
    return Error{writer.error().code, path.string() + ": cannot create: " + writer.error().message};
  }
  remove_on_signal(unfinished.string());
  return NewCapture(std::move(writer).value(), path, unfinished);
}

NewCapture::~NewCapture() {
  if (unfinished_.empty()) return;
  std::error_code ignored;
  std::filesystem::remove(unfinished_, ignored);
  let_signals_be();
}

Result<void> NewCapture::finish() {
  if (auto closed = writer_.close(); !closed) return closed;
  // link(2) refuses a name that somebody took meanwhile; not every file system has links.
  if (::link(unfinished_.c_str(), path_.c_str()) == 0) {
    ::unlink(unfinished_.c_str());
  } else if (errno == EEXIST || ::rename(unfinished_.c_str(), path_.c_str()) != 0) {
    return Error{errno == EEXIST ? ErrorCode::exists : ErrorCode::io,
                 path_.string() + ": cannot create: " + std::strerror(errno)};
  }
  unfinished_.clear();
  let_signals_be();
  return {};
}

}  // namespace foundling
