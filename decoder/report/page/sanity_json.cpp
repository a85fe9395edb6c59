// What the sanity watch saw in the session.
#include <nlohmann/json.hpp>

#include "decoder/report/page/page_pieces.h"
#include "decoder/report/page/sanity_pass.h"

namespace foundling::page {

Json sanity_json(const PageInput& input) {
  Json json{{"disclaimer", sanity_is_no_protection}};
  json["checks"] = Json::array();
  for (const SanityCheck& check : watch_session(*input.map, input.messages, input.lost)) {
    json["checks"].push_back({{"kind", to_string(check.kind)},
                              {"subject", check.subject},
                              {"looked", check.looked},
                              {"failed", check.failed},
                              {"first", seconds(check.first_ns)},
                              {"last", seconds(check.last_ns)},
                              {"text", check.text}});
  }
  return json;
}

}  // namespace foundling::page
