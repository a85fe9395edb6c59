#include "tools/exchange/output_file.h"

#include <filesystem>
#include <system_error>

#include "tools/files/target.h"

namespace foundling {

Result<OutputFile> OutputFile::open(const std::string& path) {
  using std::filesystem::file_type;
  if (path == "-") return OutputFile("standard output");
  OutputFile output(path);
  std::error_code ignored;
  const file_type kind = std::filesystem::status(path, ignored).type();
  if (kind == file_type::fifo || kind == file_type::character) {
    output.in_place_.reset(std::fopen(path.c_str(), "wb"));
    if (!output.in_place_) return file_trouble(path, "cannot be opened");
    return output;
  }
  auto file = NewFile::begin(path, NewFile::Over::other_files);
  if (!file) return file.error();
  output.file_.emplace(std::move(file).value());
  return output;
}

Result<void> OutputFile::write(const std::string& bytes) {
  if (file_) return file_->write(bytes);
  if (std::fwrite(bytes.data(), 1, bytes.size(), stream()) == bytes.size()) return {};
  return file_trouble(name_, "cannot be written");
}

Result<void> OutputFile::finish() {
  if (file_) return file_->finish();
  if (std::fflush(stream()) == 0) return {};
  return file_trouble(name_, "cannot be written");
}

}  // namespace foundling
