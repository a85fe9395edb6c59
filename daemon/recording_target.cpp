#include "daemon/recording_target.h"

#include <spdlog/spdlog.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

#include "daemon/interface_state.h"
#include "schemas/link/link_message.h"

namespace foundling {
namespace {

Result<void> check_folder(const std::filesystem::path& file) {
  const auto folder = folder_of(file);
  std::error_code failure;
  if (!std::filesystem::is_directory(folder, failure)) {
    return Error{ErrorCode::not_found, file.string() + ": there is no folder " + folder.string()};
  }
  if (access(folder.c_str(), W_OK | X_OK) != 0) {
    return Error{ErrorCode::io, file.string() + ": cannot write in folder " + folder.string() +
                                    ": " + std::strerror(errno)};
  }
  return {};
}

}  // namespace

Result<void> check_interfaces(const Options& options) {
  for (const std::string& name : options.interfaces) {
    const auto link = can_link(name);
    if (!link) return link.error();
    if (!link->up) {
      spdlog::warn("{} is down, nothing can be heard; to bring it up: {}", name,
                   command_to_bring_up(name, options.bit_rate));
    }
  }
  return {};
}

Result<CaptureWriter> open_capture(const std::filesystem::path& path) {
  // SQLite keeps its log beside the file, so the folder must be writable for an existing one too.
  if (auto checked = check_folder(path); !checked) return checked.error();
  std::error_code failure;
  const bool there = std::filesystem::exists(path, failure);
  auto capture = there ? CaptureWriter::open(path, std::chrono::milliseconds(2000))
                       : CaptureWriter::create(path);
  if (!capture) return capture;
  if (auto locked = capture->lock_for_recording(); !locked) return locked.error();
  return capture;
}

std::filesystem::path folder_of(const std::filesystem::path& file) {
  return file.has_parent_path() ? file.parent_path() : std::filesystem::path(".");
}

}  // namespace foundling
