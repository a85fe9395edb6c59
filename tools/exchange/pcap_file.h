// Frames from pcap and pcapng files of link type 227, read through libpcap with nanosecond stamps.
// The n-th interface of a pcapng section becomes bus n.
#pragma once

#include <filesystem>
#include <memory>

#include "schemas/values/result.h"
#include "tools/exchange/frame_file.h"

namespace foundling {

Result<std::unique_ptr<FrameFile>> open_pcap_file(const std::filesystem::path& path);

}  // namespace foundling
