// The result of a check as a table and as JSON (schemas/check.json).
#pragma once

#include <cstdint>
#include <string>

#include "decoder/decode/borne_out.h"
#include "decoder/decode/check.h"
#include "decoder/report/paragraph.h"

namespace foundling {

struct CheckedSession {
  std::string capture;  // as it was typed
  std::int64_t session = 1;
  bool own = false;  // the one that the map was made from
  BorneOut borne_out = {};
  std::string into = {};  // the map that it is written into; empty: none
};

inline constexpr const char* own_session_words =
    "the map says that it was made from this very session, so passing proves nothing; check it "
    "against another";

[[nodiscard]] std::string check_as_text(const MapCheck& check, const CheckedSession& checked,
                                        std::size_t width = line_width);
[[nodiscard]] std::string check_as_json(const MapCheck& check, const CheckedSession& checked);

}  // namespace foundling
