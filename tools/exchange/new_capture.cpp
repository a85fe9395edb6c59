#include "tools/exchange/new_capture.h"

#include <signal.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <string>
#include <system_error>
#include <utility>

namespace foundling {
namespace {

// What a signal handler may do is little: the names lie ready for unlink(2) and rmdir(2).
std::array<char, 4096> file_to_remove{};
std::array<char, 4096> folder_to_remove{};

extern "C" void remove_and_stop(int) {
  ::unlink(file_to_remove.data());
  ::rmdir(folder_to_remove.data());
  ::_exit(2);
}

bool lay_ready(const std::string& name, std::array<char, 4096>& place) {
  if (name.size() >= place.size()) return false;
  std::copy(name.begin(), name.end(), place.begin());
  place[name.size()] = '\0';
  return true;
}

void remove_on_signal(const std::string& file, const std::string& folder) {
  if (!lay_ready(file, file_to_remove) || !lay_ready(folder, folder_to_remove)) return;
  struct sigaction action {};
  action.sa_handler = remove_and_stop;
  for (const int number : {SIGINT, SIGTERM, SIGHUP}) sigaction(number, &action, nullptr);
}

void let_signals_be() {
  for (const int number : {SIGINT, SIGTERM, SIGHUP}) ::signal(number, SIG_DFL);
}

}  // namespace

NewCapture::NewCapture(CaptureWriter writer, std::filesystem::path path,
                       std::filesystem::path building, Unfinished folder)
    : path_(std::move(path)),
      building_(std::move(building)),
      folder_(std::move(folder)),
      writer_(std::move(writer)) {}

Result<NewCapture> NewCapture::start(const std::filesystem::path& path) {
  std::error_code ignored;
  if (std::filesystem::exists(std::filesystem::symlink_status(path, ignored))) {
    return Error{ErrorCode::exists, path.string() + ": is there already; it is left as it is"};
  }
  auto folder = Unfinished::begin(path.string(), Unfinished::Kind::folder);
  if (!folder) return folder.error();
  const std::filesystem::path building = std::filesystem::path(folder->name()) / "capture";
  auto writer = CaptureWriter::create(building, CaptureWriter::Purpose::building);
  if (!writer) {
    return Error{writer.error().code, path.string() + ": cannot create: " + writer.error().message};
  }
  remove_on_signal(building.string(), folder->name());
  return NewCapture(std::move(writer).value(), path, building, std::move(folder).value());
}

NewCapture::~NewCapture() {
  if (!folder_.name().empty()) let_signals_be();
}

Result<void> NewCapture::finish() {
  if (auto closed = writer_.close(); !closed) return closed;
  return give_name(building_.string(), path_.string(), false);
}

}  // namespace foundling
