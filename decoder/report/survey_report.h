// A survey, and who asks whom for what on the bus, as a table for a terminal and as JSON
// ("foundling-survey", schemas/survey.schema.json).
#pragma once

#include <string>

#include "decoder/analysis/survey.h"
#include "decoder/report/paragraph.h"
#include "decoder/transport/talk.h"

namespace foundling {

struct SurveySource {   // what was surveyed
  std::string capture;  // file name
  std::int64_t session = 1;
  std::int64_t bit_rate = 0;  // bit/s; 0 unknown
  double duration_s = 0;      // from the first frame to the last
};

[[nodiscard]] std::string survey_text(const Survey& survey, const SurveySource& source,
                                      const Talk& talk = {}, std::size_t width = line_width);
[[nodiscard]] std::string survey_json(const Survey& survey, const SurveySource& source,
                                      const Talk& talk = {});

}  // namespace foundling
