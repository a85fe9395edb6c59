// Proposals written as JSON and read again: nothing is lost, and what the schema refuses is refused
// with its place.
#include <doctest/doctest.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <random>
#include <string>

#include "decoder/report/proposals_fit.h"
#include "decoder/report/proposals_report.h"
#include "decoder/report/unfit_reading.h"
#include "tests/report/json_schema.h"

namespace foundling::test {
namespace {

using nlohmann::json;

class Dice {
 public:
  explicit Dice(unsigned seed) : random_(seed) {}
  std::uint64_t below(std::uint64_t end) { return random_() % end; }
  bool flip() { return below(2) == 1; }
  double size() { return std::ldexp(static_cast<double>(1 + below(1ULL << 52)), -60); }
  double number() { return flip() ? size() : -size(); }
  std::string text() {
    static const std::vector<std::string> all{"pack_current", "cell_02", "\"quoted\" \\ \n", "°C",
                                              "</script>",    "",        "\xE2\x80\xA8"};
    return all[below(all.size())];
  }
  FieldPlace place() {
    FieldPlace place;
    place.bus = static_cast<std::uint8_t>(below(256));
    place.id = flip() ? CanId::extended(static_cast<std::uint32_t>(random_()))
                      : CanId::standard(static_cast<std::uint32_t>(random_()));
    place.span = span();
    if (flip()) place.page = Page{span(), random_()};
    return place;
  }

 private:
  Span span() {
    static const std::vector<const char*> all{"0.7..0.0", "2.7..3.0", "3.7..2.0",
                                              "6.1",      "1.3..2.4", "7.7..0.0"};
    return *parse_span(all[below(all.size())]);
  }
  std::mt19937_64 random_;
};

Proposal proposal(Dice& dice) {
  Proposal p;
  p.channel = dice.text();
  p.unit = dice.text();
  p.derived = dice.flip();
  p.place = dice.place();
  p.is_signed = dice.flip();
  p.is_float = p.place.span.width() == 64;
  p.scale = dice.number();
  p.offset = dice.number();
  p.scale_fitted = dice.number();
  p.offset_fitted = dice.number();
  p.scale_interval = {dice.number(), dice.number()};
  p.offset_interval = {dice.number(), dice.number()};
  p.delay_s = dice.number();
  p.time_constant_s = dice.size();
  p.residual_rms = dice.size();
  p.levels = static_cast<int>(dice.below(100));
  p.chance = std::min(dice.size(), 1.0);
  p.chance_by_plan = dice.flip();
  p.untested_high_bits = static_cast<int>(dice.below(8));
  p.verdict = static_cast<Verdict>(dice.below(3));
  p.rank = 1 + static_cast<int>(dice.below(3));
  if (dice.flip()) p.states = {{0, dice.text()}, {~std::uint64_t{0}, dice.text()}};
  if (dice.flip()) p.table = {{-3, dice.number(), std::nan("")}, {0.5, 1e300, dice.size()}};
  if (dice.flip()) p.reserved = {7, ~std::uint64_t{0}};
  if (dice.flip()) p.startup_codes = {7};
  if (dice.flip()) p.same_as = {dice.place(), dice.place()};
  if (dice.flip()) p.ambiguous_with = {dice.text(), dice.text()};
  p.inferred = dice.flip();
  p.note = dice.text();
  return p;
}

Unanswered unanswered(Dice& dice) {
  Unanswered channel{dice.text(), dice.text(), {}, dice.text()};
  if (dice.flip()) channel.nearest = {dice.place(), 12, static_cast<int>(dice.below(13))};
  return channel;
}

UnfitReading unfit(Dice& dice) {
  UnfitReading reading;
  reading.reading = static_cast<std::int64_t>(dice.below(1'000'000));
  reading.channel = dice.text();
  reading.t_ns = static_cast<std::int64_t>(dice.below(4'000'000'000'000)) - 1'000'000'000;
  reading.unit = dice.flip() ? "state" : dice.text();
  if (is_state(reading)) {
    reading.state = dice.text();
    reading.expected_state = dice.text();
  } else {
    reading.value = dice.number();
    reading.expected = dice.number();
  }
  reading.kind = static_cast<Slip>(dice.below(6));
  return reading;
}

Correlation correlation(unsigned seed) {
  Dice dice(seed);
  Correlation all;
  for (std::uint64_t i = 0, end = dice.below(5); i < end; ++i) {
    all.proposals.push_back(proposal(dice));
  }
  for (std::uint64_t i = 0, end = dice.below(3); i < end; ++i) all.advice.push_back(dice.text());
  for (std::uint64_t i = 0, end = dice.below(4); i < end; ++i) {
    all.unanswered.push_back(unanswered(dice));
    all.unfit_readings.push_back(unfit(dice));
  }
  if (dice.flip()) all.plan = RedrawnPlan{dice.text(), ~std::uint64_t{0}, 199};
  if (dice.flip()) all.source = SearchedSession{dice.text(), 7, 6504, dice.below(9)};
  all.seconds = dice.size();
  return all;
}

std::string refusal(const std::string& text) {
  const auto read = proposals_from_json(text, "a.json");
  return read ? "read" : read.error().message;
}

json everything() {
  Correlation all = correlation(1);
  Dice dice(2);
  Proposal p = proposal(dice);
  p.place.page = Page{*parse_span("0.7..0.0"), 3};
  p.states = {{0, "open"}};
  p.table = {{0, 1, 0.5}, {1, 2, std::nan("")}};
  p.reserved = {255};
  p.startup_codes = {255};
  p.same_as = {p.place};
  p.ambiguous_with = {"cell_03"};
  all.proposals = {p};
  all.advice = {"step it"};
  all.unanswered = {{"oil", "nothing moved with it", Unanswered::Nearest{p.place, 12, 5}, "step"}};
  UnfitReading slip;
  slip.reading = 97;
  slip.channel = "cell_01";
  slip.unit = "V";
  slip.t_ns = 48'200'000'000;
  slip.value = 34.56;
  slip.expected = 3.456;
  slip.kind = Slip::factor_10;
  UnfitReading word = slip;
  word.unit = "state";
  word.state = "open";
  word.expected_state = "closed";
  word.kind = Slip::previous;
  all.unfit_readings = {slip, word};
  all.plan = RedrawnPlan{"tractor.plan", 4711, 199};
  all.source = SearchedSession{"tractor-1.capture", 1, 6504, 1686};
  return json::parse(proposals_json(all));
}

// Every value of the document, the whole first.
std::vector<json::json_pointer> places_in(const json& document) {
  std::vector<json::json_pointer> all;
  const json flat = document.flatten();
  for (const auto& item : flat.items()) {
    for (json::json_pointer at(item.key()); !at.empty(); at = at.parent_pointer()) {
      all.push_back(at);
    }
  }
  return all;
}

}  // namespace

TEST_CASE("random proposals are the same after JSON and back") {
  for (unsigned seed = 1; seed <= 300; ++seed) {
    CAPTURE(seed);
    const std::string text = proposals_json(correlation(seed));
    CHECK(schema_faults(project_schema("proposals"), json::parse(text)) ==
          std::vector<std::string>{});
    const auto back = proposals_from_json(text, "random");
    REQUIRE_MESSAGE(back, (back ? "" : back.error().message));
    REQUIRE(proposals_json(*back) == text);
  }
}

TEST_CASE("every figure is read into the member that it was written from") {
  const Correlation all = correlation(5);
  const auto back = proposals_from_json(proposals_json(all), "five");
  REQUIRE(back);
  REQUIRE(back->proposals.size() == all.proposals.size());
  REQUIRE_FALSE(all.proposals.empty());
  for (std::size_t i = 0; i < all.proposals.size(); ++i) {
    const Proposal& was = all.proposals[i];
    const Proposal& is = back->proposals[i];
    CHECK(is.channel == was.channel);
    CHECK(is.place.id == was.place.id);
    CHECK(is.place.page == was.place.page);
    CHECK(is.place.span == was.place.span);
    CHECK(is.scale == was.scale);
    CHECK(is.offset_fitted == was.offset_fitted);
    CHECK(is.scale_interval.low == was.scale_interval.low);
    CHECK(is.offset_interval.high == was.offset_interval.high);
    CHECK(is.chance == was.chance);
    CHECK(is.verdict == was.verdict);
    CHECK(is.states == was.states);
    CHECK(is.reserved == was.reserved);
    CHECK(is.table.size() == was.table.size());
    CHECK(is.note == was.note);
  }
}

TEST_CASE("what the schema refuses is refused, whichever member is wrong or missing") {
  const json schema = project_schema("proposals");
  const json good = everything();
  REQUIRE(schema_faults(schema, good) == std::vector<std::string>{});
  REQUIRE(refusal(good.dump()) == "read");
  const std::vector<json> wrong{
      nullptr,        true,          -1, 0.5, 1e300, "x", "0.9", json::array(), json::array({1}),
      json::object(), json{{"x", 1}}};
  std::size_t refused = 0;
  const auto judge = [&](const json& changed, const std::string& what) {
    if (schema_faults(schema, changed).empty()) return;
    ++refused;
    CAPTURE(what);
    CHECK(refusal(changed.dump()) != "read");
  };
  for (const auto& at : places_in(good)) {
    for (const json& value : wrong) {
      json changed = good;
      changed[at] = value;
      judge(changed, at.to_string() + " = " + value.dump());
    }
    if (!good[at.parent_pointer()].is_object()) continue;
    json changed = good;
    changed[at.parent_pointer()].erase(at.back());
    judge(changed, "without " + at.to_string());
    // What an older program did not write yet may be missing.
    if (schema_faults(schema, changed).empty()) CHECK(refusal(changed.dump()) == "read");
  }
  CHECK(refused > 300);
}

TEST_CASE("what was left open is read into the member that it was written from") {
  const auto back = proposals_from_json(everything().dump(), "a.json");
  REQUIRE(back);
  REQUIRE(back->unanswered.size() == 1);
  CHECK(back->unanswered[0].channel == "oil");
  CHECK(back->unanswered[0].reason == "nothing moved with it");
  CHECK(back->unanswered[0].advice == "step");
  REQUIRE(back->unanswered[0].nearest);
  CHECK(back->unanswered[0].nearest->levels == 12);
  CHECK(back->unanswered[0].nearest->agree == 5);
  CHECK(back->unanswered[0].nearest->place.span == back->proposals.at(0).place.span);
  REQUIRE(back->unfit_readings.size() == 2);
  const UnfitReading& slip = back->unfit_readings[0];
  CHECK(slip.reading == 97);
  CHECK(slip.t_ns == 48'200'000'000);
  CHECK(slip.value == 34.56);
  CHECK(slip.expected == 3.456);
  CHECK(slip.kind == Slip::factor_10);
  CHECK(back->unfit_readings[1].state == "open");
  CHECK(back->unfit_readings[1].expected_state == "closed");
  CHECK(back->unfit_readings[1].kind == Slip::previous);
  CHECK(back->proposals[0].startup_codes == std::vector<std::uint64_t>{255});
}

TEST_CASE("faults are named with file and place") {
  CHECK(refusal("") == "a.json:1:1: expected JSON, found none");
  CHECK(refusal("{\n  \"format\": }") == "a.json:2:13: expected JSON, found none");
  CHECK(refusal("[]").find("expected what `foundling correlate --json` prints") !=
        std::string::npos);
  CHECK(refusal(R"({"format":"foundling-survey","version":1})").find("found something else") !=
        std::string::npos);
  CHECK(refusal(R"({"format":"foundling-proposals","version":2})").find("expected version 1") !=
        std::string::npos);
  const auto with = [](const char* at, const json& value) {
    json changed = everything();
    changed[json::json_pointer(at)] = value;
    return refusal(changed.dump());
  };
  CHECK(with("/proposals/0/span", "2.9") ==
        R"(a.json: proposals[0].span: expected bits, such as "2.7..3.0", found "2.9")");
  CHECK(with("/proposals/0/scale", 0) ==
        "a.json: proposals[0].scale: expected a number other than 0, found 0");
  CHECK(with("/proposals/0/chance", 1.5) ==
        "a.json: proposals[0].chance: expected a number from 0.0 to 1.0, found 1.5");
  CHECK(with("/proposals/0/verdict", "strung").find("did you mean 'strong'?") != std::string::npos);
  CHECK(with("/proposals/0/width", 63).find("as the span says, found 63") != std::string::npos);
  CHECK(with("/proposals/0/table/0/raw", 9).find("raw ascending") != std::string::npos);
  CHECK(with("/proposals/0/same_as/0/identifier", -1).find("proposals[0].same_as[0].identifier") !=
        std::string::npos);
  CHECK(with("/advice/0", 3) == "a.json: advice[0]: expected text, found 3");
  CHECK(refusal(std::string(500'000, '[')).find("a.json:1:") == 0);
  const std::string deep = std::string(200'000, '[') + std::string(200'000, ']');
  CHECK(refusal(R"({"format":"foundling-proposals","version":1,"proposals":[)" + deep + "]}")
            .find("proposals[0]: expected an object, found a list") != std::string::npos);
}

TEST_CASE("proposals of another recording are told from those of the session") {
  MessageSeries message;
  message.id = CanId::standard(0x1A4);
  message.length = 8;
  message.t_ns = {0, 1};
  message.bytes.assign(16, 0);
  ChannelSeries channel;
  channel.channel = {"pack_current", "A", ChannelKind::hold};
  channel.readings.resize(3);
  const std::vector<MessageSeries> messages{message};
  const std::vector<ChannelSeries> channels{channel};
  const SearchedSession session = searched_session("a.capture", 1, messages, channels);
  CHECK(session == SearchedSession{"a.capture", 1, 2, 3});

  Correlation found;
  Proposal& p = found.proposals.emplace_back();
  p.channel = "pack_current";
  p.unit = "A";
  p.place = {0, CanId::standard(0x1A4), {}, *parse_span("6.7..7.0")};
  found.source = SearchedSession{"b.capture", 1, 2, 3};
  const auto fault = [&] {
    const auto fit = check_proposals_fit(found, session, messages, channels, "p.json");
    return fit ? std::string() : fit.error().message;
  };
  CHECK(fault().empty());
  CHECK(other_session(found, session).empty());  // the file was renamed
  found.source->frames = 5;
  CHECK(other_session(found, session) ==
        "the proposals were found in 5 frames and 3 readings of b.capture session 1, and are shown "
        "beside 2 frames and 3 readings of a.capture session 1");
  p.place.id = CanId::extended(0x1A4);
  CHECK(fault() ==
        "p.json: proposals[0]: proposals of another recording: a.capture session 1 has no message "
        "000001A4 on bus 0; these were found in b.capture session 1");
  p.place = {0, CanId::standard(0x1A4), {}, *parse_span("8.7..8.0")};
  CHECK(fault().find("no byte 8 in message 1A4, which has 8") != std::string::npos);
  p.place.span = *parse_span("0.0");
  p.channel = "pack_voltage";
  CHECK(fault().find("no readings of pack_voltage") != std::string::npos);
  p.derived = true;
  CHECK(fault().empty());
  p.derived = false;
  p.channel = "pack_current";
  p.unit = "mA";
  CHECK(fault().find("pack_current in A, not in mA") != std::string::npos);
}

}  // namespace foundling::test
