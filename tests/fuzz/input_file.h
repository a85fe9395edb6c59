// The fuzzer's bytes as a file, for readers that want a path. One file a process, made anew a run.
#pragma once

#include <unistd.h>

#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <string>

namespace foundling {

inline std::filesystem::path input_file(const std::uint8_t* data, std::size_t size) {
  static const std::filesystem::path path =
      std::filesystem::temp_directory_path() / ("foundling-fuzz-" + std::to_string(getpid()));
  std::FILE* const file = std::fopen(path.c_str(), "wb");
  if (file == nullptr) return path;
  std::fwrite(data, 1, size, file);
  std::fclose(file);
  return path;
}

}  // namespace foundling
