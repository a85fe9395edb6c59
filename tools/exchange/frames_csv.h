// Frames as CSV: time_s,bus,identifier,extended,payload. Identifier in hex without prefix, payload
// in hex, extended 0 or 1, time in seconds with up to nine decimals.
// Cannot carry remote frames, error frames, or the FD bits beside the length.
#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <string_view>

#include "schemas/values/frame.h"
#include "schemas/values/result.h"
#include "tools/exchange/frame_file.h"

namespace foundling {

inline constexpr std::string_view frames_csv_header = "time_s,bus,identifier,extended,payload";

Result<std::unique_ptr<FrameFile>> open_frames_csv(const std::filesystem::path& path);

// One line with its end: nine decimals, upper-case hex, identifier of three or eight digits.
void append_frame_csv(std::string& text, const Frame& frame, std::int64_t stamp_ns);

// Flags that a frame of the CSV gets back: FD where the payload is too long for classical CAN.
[[nodiscard]] std::uint8_t flags_of_length(std::uint8_t length);

}  // namespace foundling
