#include "tools/exchange/output_file.h"

#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <system_error>
#include <utility>

namespace foundling {

Result<OutputFile> OutputFile::open(const std::string& path) {
  OutputFile output;
  output.path_ = path;
  if (path == "-") {
    output.file_ = stdout;
    return output;
  }
  std::error_code ignored;
  const auto kind = std::filesystem::status(path, ignored).type();
  if (kind == std::filesystem::file_type::directory) {
    return Error{ErrorCode::usage, path + ": a folder, not a file"};
  }
  const bool in_place =
      kind != std::filesystem::file_type::regular && kind != std::filesystem::file_type::not_found;
  if (!in_place) output.unfinished_ = path + ".unfinished-" + std::to_string(::getpid());
  output.file_ = std::fopen((in_place ? output.path_ : output.unfinished_).c_str(), "wb");
  if (output.file_ == nullptr) return output.system_error("cannot create");
  return output;
}

OutputFile::OutputFile(OutputFile&& other) noexcept
    : file_(std::exchange(other.file_, nullptr)),
      path_(std::move(other.path_)),
      unfinished_(std::exchange(other.unfinished_, {})) {}

OutputFile::~OutputFile() {
  if (file_ != nullptr && file_ != stdout) std::fclose(file_);
  std::error_code ignored;
  if (!unfinished_.empty()) std::filesystem::remove(unfinished_, ignored);
}

Error OutputFile::system_error(const char* doing) const {
  const ErrorCode code = errno == ENOSPC ? ErrorCode::full : ErrorCode::io;
  const std::string name = file_ == stdout ? "standard output" : path_.string();
  return {code, name + ": " + doing + ": " + std::strerror(errno)};
}

Result<void> OutputFile::write(const std::string& bytes) {
  if (std::fwrite(bytes.data(), 1, bytes.size(), file_) != bytes.size()) {
    return system_error("cannot write");
  }
  return {};
}

Result<void> OutputFile::finish() {
  if (std::fflush(file_) != 0) return system_error("cannot write");
  if (file_ == stdout) return {};
  if (std::fclose(std::exchange(file_, nullptr)) != 0) return system_error("cannot write");
  if (unfinished_.empty()) return {};
  if (std::rename(unfinished_.c_str(), path_.c_str()) != 0) return system_error("cannot create");
  unfinished_.clear();
  return {};
}

}  // namespace foundling
