// A second recording, compared with one that is loaded already: what `survey` and `report` do with
// --against.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "decoder/against/against.h"
#include "decoder/report/survey_report.h"
#include "schemas/capture/rows.h"
#include "schemas/values/result.h"

namespace foundling {

struct FirstRecording {
  const std::string& capture;  // its path
  const SessionData& data;
  const Survey& found;
};

struct Compared {
  Against result;                     // A is the first recording
  SurveySource source;                // of the other
  std::vector<std::string> warnings;  // about the other
};

// Session `wanted` of `other`, or the last one with frames. The same recording is an error.
[[nodiscard]] Result<Compared> compare_with(const FirstRecording& first, const std::string& other,
                                            std::optional<std::int64_t> wanted);

}  // namespace foundling
