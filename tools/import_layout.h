// Another program's tables in `foundling import`: the guess at their layout is shown, and a person
// at the terminal says yes; in a script it is refused with the line to type.
#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "schemas/values/result.h"
#include "tools/exchange/layout/frames_layout.h"
#include "tools/exchange/layout/readings_layout.h"

namespace foundling {

// `said`: what --frames-layout says, empty where it says nothing. `command`: the command line that
// was typed, to which the option is to be added. Nothing: the file needs no layout.
Result<std::optional<FramesLayout>> settle_frames_layout(const std::filesystem::path& path,
                                                         const std::string& said,
                                                         const std::string& command);

// The same for readings, --stimulus-layout.
Result<std::optional<ReadingsLayout>> settle_readings_layout(const std::filesystem::path& path,
                                                             const std::string& said,
                                                             const std::string& command);

}  // namespace foundling
