// An invented session with one of everything that the page shows, under names that would break a
// page made without care.
#pragma once

#include <string>
#include <vector>

#include "decoder/report/page/page_input.h"

namespace foundling::test {

// Names as hostile as a file from anybody can have them.
inline const std::string script_name = "<script>window.hacked=1</script>";
inline const std::string closing_name = "</script><img src=x onerror=window.hacked=2>";
inline const std::string quoting_name = "\"quoted\" & 'so' \xE2\x80\xA8 on";  // with U+2028

struct SamplePage {
  std::vector<MessageSeries> messages;
  std::vector<ChannelSeries> channels;
  Survey survey;
  SignalMap map;
  Correlation correlation;

  SamplePage();
  [[nodiscard]] PageInput input() const;  // refers to this
};

// Seconds of the session, and the two levels of the signal named script_name: 10.5 A in the first
// half, -20 A in the second.
inline constexpr int sample_seconds = 100;

}  // namespace foundling::test
