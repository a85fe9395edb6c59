// What the page's data says of another recording.
#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

#include "decoder/report/page/page_json.h"
#include "tests/page/sample_page.h"

namespace foundling::test {

using nlohmann::json;

TEST_CASE("the page's data has what differs in another recording as the survey's JSON says it") {
  const SamplePage sample;
  const json page = json::parse(page_json(sample.input()));
  const json& against = page.at("against");
  CHECK(against.at("format") == "foundling-against");
  CHECK(against.at("b").at("session") == 2);
  CHECK(against.at("a").at("duration_s") == sample_seconds);
  REQUIRE(against.at("differences").size() == 3);
  CHECK(against.at("differences")[0].at("id") == nullptr);
  CHECK(against.at("differences")[1].at("id") == "1A4");
  CHECK(against.at("differences")[1].at("words") == "comes every 100 ms in A, every 200 ms in B");
  CHECK(against.at("differences")[2].at("id") == "18FF50E5");
  PageInput alone = sample.input();
  alone.against.reset();
  CHECK(json::parse(page_json(alone)).at("against") == nullptr);
}

}  // namespace foundling::test
