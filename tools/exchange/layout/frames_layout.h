// How another program's table of frames is laid out, said in words that a person can type:
//   separator semicolon, decimal comma, skip 1, time 1 ms, identifier 3 hex, length 5, data 6..13
//   hex
// All bytes in one column: data 6 hex; from a column on to the row's end: data 6.. hex. Not said:
// bus 0; 29 bits by the identifier's size, or by how many digits it is written with.
#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "schemas/values/result.h"
#include "tools/exchange/frame_file.h"
#include "tools/exchange/layout/table_layout.h"

namespace foundling {

enum class LayoutBase { hex, decimal };

struct FramesLayout {
  TableLayout table;
  std::optional<std::size_t> bus, extended, length;
  std::size_t identifier = 0;  // 0: not said
  LayoutBase identifier_base = LayoutBase::hex;
  std::size_t data_first = 0, data_last = 0;     // the same: all bytes in one column
  static constexpr std::size_t to_the_end = 63;  // data_last - data_first: every byte of a frame
  LayoutBase data_base = LayoutBase::hex;
};

[[nodiscard]] Result<FramesLayout> parse_frames_layout(std::string_view words);
[[nodiscard]] std::string frames_layout_words(const FramesLayout& layout);

// Reads the file as the layout says; whatever it does not say so is an error with its place.
Result<std::unique_ptr<FrameFile>> open_frames_by_layout(const std::filesystem::path& path,
                                                         const FramesLayout& layout);

}  // namespace foundling
