// Checks what the recorder was asked for before it begins: the interfaces and the capture.
#pragma once

#include <filesystem>

#include "daemon/options.h"
#include "schemas/capture/capture_writer.h"
#include "schemas/values/result.h"

namespace foundling {

// Every interface exists and is CAN. One that is down is only warned of: it may come up.
Result<void> check_interfaces(const Options& options);

// A new capture, or an existing one for a further session; ours alone to record into.
Result<CaptureWriter> open_capture(const std::filesystem::path& path);

[[nodiscard]] std::filesystem::path folder_of(const std::filesystem::path& file);

}  // namespace foundling
