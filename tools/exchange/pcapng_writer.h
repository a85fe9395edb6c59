// Frames as pcapng (IETF draft-ietf-opsawg-pcapng): one section, interface n for bus n, link type
// 227, nanosecond stamps, so that general network tools can read a recording.
// Pure: appends bytes to a text. Cannot carry times before 1970.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "schemas/values/frame.h"

namespace foundling {

class PcapngWriter {
 public:
  // Appends the section header.
  void begin(std::string& bytes, std::string_view made_by) const;
  // Appends the packet, before it the interfaces up to its bus that were not written yet.
  // Requires stamp_ns >= 0.
  void append(std::string& bytes, const Frame& frame, std::int64_t stamp_ns);

 private:
  unsigned interfaces_ = 0;
};

}  // namespace foundling
