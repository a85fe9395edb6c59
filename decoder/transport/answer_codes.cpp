#include "decoder/transport/answer_codes.h"

#include <algorithm>
#include <array>
#include <string_view>
#include <utility>

namespace foundling {

std::string answer_code_words(std::uint8_t code) {
  using Row = std::pair<std::uint8_t, std::string_view>;
  static constexpr std::array<Row, 20> rows{{
      {0x10, "refused without a reason"},
      {0x11, "the node does not know this service"},
      {0x12, "the node does not know this kind of it"},
      {0x13, "the request's length or form is wrong"},
      {0x14, "the answer would be too long"},
      {0x21, "busy, to be asked again"},
      {0x22, "not under these conditions"},
      {0x24, "asked out of turn"},
      {0x31, "no such data, or out of range"},
      {0x33, "locked: the asker has to prove itself first"},
      {0x35, "the wrong key"},
      {0x36, "too many attempts with wrong keys"},
      {0x37, "too soon after a wrong key"},
      {0x70, "no transfer accepted"},
      {0x71, "transfer stopped"},
      {0x72, "programming failed"},
      {0x73, "a block out of turn"},
      {0x78, "the answer takes longer and comes later"},
      {0x7E, "this kind of it is not for the present mode"},
      {0x7F, "the service is not for the present mode"},
  }};
  const auto at =
      std::find_if(rows.begin(), rows.end(), [code](const Row& row) { return row.first == code; });
  return at == rows.end() ? "a reason of the maker's own" : std::string(at->second);
}

}  // namespace foundling
