// A session as the report page needs it: its data, and what the recorder wrote about it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "decoder/report/page/page_input.h"
#include "schemas/capture/rows.h"
#include "schemas/values/result.h"

namespace foundling {

struct ReportSession {
  SessionData data;
  PageSource source;
  std::vector<LostStretch> lost;
  std::vector<BusIncident> incidents;
  std::vector<std::string> left_out;  // readings that cannot be of this session

  [[nodiscard]] SearchedSession searched() const;  // as its own proposals would have it
};

// Session `wanted`, or the last one with frames. A session without data frames is an error.
[[nodiscard]] Result<ReportSession> load_report_session(const std::string& capture,
                                                        std::optional<std::int64_t> wanted);

}  // namespace foundling
