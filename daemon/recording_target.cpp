#include "daemon/recording_target.h"

#include <spdlog/spdlog.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

#include "daemon/interface_state.h"

namespace foundling {
namespace {

std::string no_such_interface(const std::string& name) {
  std::string message = "there is no interface \"" + name + "\"; ";
  const auto others = can_interfaces();
  if (others.empty()) return message + "this machine has no CAN interface now";
  message += "CAN interfaces here:";
  for (const std::string& other : others) message += " " + other;
  return message;
}

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
    const InterfaceState state = probe_interface(name);
    if (!state.exists()) return Error{ErrorCode::not_found, no_such_interface(name)};
    if (!state.is_can) return Error{ErrorCode::usage, name + " is not a CAN interface"};
    if (!state.is_up) {
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
