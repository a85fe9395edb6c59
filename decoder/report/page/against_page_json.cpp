// What differs in another recording, in the very form that `survey --against --json` prints.
#include <nlohmann/json.hpp>

#include "decoder/report/against_report.h"
#include "decoder/report/figures.h"
#include "decoder/report/page/page_pieces.h"

namespace foundling::page {

Json against_json(const PageInput& input) {
  if (!input.against) return nullptr;
  const PageAgainst& other = *input.against;
  const AgainstSource source{{input.source.capture, input.source.session, input.source.bit_rate,
                              seconds(input.source.to_ns - input.source.from_ns)},
                             {other.capture, other.session, other.bit_rate, other.duration_s}};
  Json json = Json::parse(foundling::against_json(other.result, source));
  for (std::size_t i = 0; i < other.result.differences.size(); ++i) {
    const Difference& difference = other.result.differences[i];
    json["differences"][i]["id"] = difference.id ? Json(identifier_text(*difference.id)) : Json();
  }
  return json;
}

}  // namespace foundling::page
