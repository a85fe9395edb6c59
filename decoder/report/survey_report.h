// A survey as a table for a terminal and as JSON ("foundling-survey", schemas/survey.schema.json).
#pragma once

#include <string>

#include "decoder/analysis/survey.h"
#include "decoder/report/paragraph.h"

namespace foundling {

struct SurveySource {   // what was surveyed
  std::string capture;  // file name
  std::int64_t session = 1;
  std::int64_t bit_rate = 0;  // bit/s; 0 unknown
  double duration_s = 0;      // from the first frame to the last
};

[[nodiscard]] std::string survey_text(const Survey& survey, const SurveySource& source,
                                      std::size_t width = line_width);
[[nodiscard]] std::string survey_json(const Survey& survey, const SurveySource& source);

}  // namespace foundling
