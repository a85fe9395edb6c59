// A capture's file, held open while it is recorded, whatever happens to its name: where it is now,
// and whether its log is still beside it. Holding it is also a lock on the file itself, so that a
// second recorder is refused under any of its names.
// Closing any handle of a file takes away this process's SQLite locks on it, so this one is closed
// after the connection.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>

#include "schemas/values/result.h"

namespace foundling {

enum class FilePlace : std::uint8_t {
  in_place,
  log_gone,  // the file is there; its -wal or -shm was removed or replaced
  moved,     // it has another name now; what is at the old one, if anything, is not this file
  removed,   // it has no name any more
};

class HeldFile {
 public:
  // ErrorCode::busy when another recorder holds the file, under whatever name.
  static Result<HeldFile> hold(const std::filesystem::path& capture);

  // Once the log exists: what place() compares with.
  void note_log();
  [[nodiscard]] FilePlace place() const;
  // Where the kernel says that the file is; the name it was opened by where that is not known.
  [[nodiscard]] std::filesystem::path path_now() const;
  // Whether the file's folder was moved as a whole: nothing is at the old place, and the log is
  // beside the file at the new one. Then the connection goes on as it is.
  [[nodiscard]] bool moved_with_folder() const;
  // Removes the log's files at the old name, if they are ours. After the connection was closed.
  void remove_log_left_behind() const;

  HeldFile(HeldFile&& other) noexcept;
  HeldFile& operator=(HeldFile&& other) noexcept;
  HeldFile(const HeldFile&) = delete;
  HeldFile& operator=(const HeldFile&) = delete;
  ~HeldFile();

 private:
  struct Identity {
    std::uint64_t device, number;
    bool operator==(const Identity&) const = default;
  };
  HeldFile(int file, std::filesystem::path path);
  static std::optional<Identity> identity_of(const std::filesystem::path& path);
  [[nodiscard]] bool log_is_beside(const std::filesystem::path& capture) const;

  int file_;
  std::filesystem::path path_;  // links followed: SQLite keeps the log beside the file itself
  std::optional<Identity> log_, index_;
};

}  // namespace foundling
