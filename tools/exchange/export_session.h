// Writes a session's frames as CSV or pcapng, streaming, with the stamps of its source's clock.
// Counts what the format cannot carry.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "schemas/capture/capture_reader.h"
#include "schemas/values/result.h"
#include "tools/exchange/output_file.h"

namespace foundling {

enum class FrameFormat { csv, pcapng };

struct ExportOutcome {
  std::uint64_t frames = 0;              // written, error frames included
  std::vector<std::string> not_carried;  // one sentence each, with its count
};

Result<ExportOutcome> export_frames(CaptureReader& reader, const SessionRow& session,
                                    FrameFormat format, OutputFile& output);

}  // namespace foundling
