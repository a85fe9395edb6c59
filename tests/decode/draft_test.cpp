#include <doctest/doctest.h>

#include <cmath>
#include <string>

#include "decoder/draft/draft_map.h"
#include "schemas/signals/read.h"
#include "schemas/signals/write.h"

using namespace foundling;

namespace {

MessageSurvey surveyed(CanId id, double period_s) {
  MessageSurvey message;
  message.id = id;
  message.period_s = period_s;
  message.length = 8;
  return message;
}

Proposal proposed(const std::string& channel, CanId id, const std::string& span, double scale) {
  Proposal proposal;
  proposal.channel = channel;
  proposal.unit = std::string("V");
  proposal.place.id = id;
  proposal.place.span = *parse_span(span);
  proposal.scale = proposal.scale_fitted = scale;
  proposal.verdict = Verdict::strong;
  proposal.levels = 12;
  return proposal;
}

std::string whole_bytes(int first, int last) {
  return std::to_string(first) + std::string(".7..") + std::to_string(last) + std::string(".0");
}

std::string drafted(const Correlation& correlation, const Survey& survey) {
  const std::string text =
      write_signals(draft_map(correlation, survey, {"a board", "one.capture", 3, 500'000, 0}));
  const SignalText read = read_signals(text);
  REQUIRE_MESSAGE(read.ok(), describe(read.diagnostics, "draft", text));
  return text;
}

}  // namespace

TEST_CASE("twenty-eight cells on ten pages become one series") {
  const CanId id = CanId::standard(0x1B0);
  Survey survey;
  survey.messages.push_back(surveyed(id, 0.0500012));
  survey.messages[0].selectors.push_back({*parse_span("0.7..0.0"), {0, 1, 2, 3, 4, 5, 6, 7, 8, 9}});
  Correlation correlation;
  for (int n = 1; n <= 28; ++n) {
    const int byte = 1 + (n - 1) % 3 * 2;
    const std::string name = std::string(n < 10 ? "cell_0" : "cell_") + std::to_string(n);
    const std::string span = whole_bytes(byte, byte + 1);
    Proposal cell = proposed(name, id, span, 0.001);
    cell.place.page = Page{*parse_span("0.7..0.0"), static_cast<std::uint64_t>((n - 1) / 3)};
    cell.inferred = n == 7;
    correlation.proposals.push_back(cell);
  }
  const std::string text = drafted(correlation, survey);
  CHECK(text.find("message 1B0 every 50 ms length 8\n"
                  "  selector page bits 0.7..0.0 values 0..9\n"
                  "  series cell 01..28\n"
                  "    on page (n - 1) div 3\n"
                  "    bits 1.7..2.0 + (n - 1) mod 3 * 2 bytes\n"
                  "    value = raw * 0.001 V\n") != std::string::npos);
  CHECK(text.find("seen one.capture session 3: 28 members, 1 inferred (cell_07), 27 strong") !=
        std::string::npos);
}

TEST_CASE("a series of which few were tested says which") {
  const CanId id = CanId::standard(0x2A0);
  Survey survey;
  survey.messages.push_back(surveyed(id, 0.1));
  Correlation correlation;
  for (int n = 1; n <= 4; ++n) {
    Proposal cell =
        proposed("cell_" + std::to_string(n), id, whole_bytes(2 * n - 2, 2 * n - 1), 0.001);
    cell.inferred = n != 2;
    if (cell.inferred) {
      cell.verdict = Verdict::weak;
      cell.note = "continues cell_2";
    }
    correlation.proposals.push_back(cell);
  }
  const std::string text = drafted(correlation, survey);
  CHECK(text.find("  series cell 1..4\n") != std::string::npos);
  CHECK(text.find("    note all but cell_2: continues cell_2\n") != std::string::npos);
  CHECK(text.find("4 members, 3 inferred, 1 strong (cell_2); the first tested, cell_2: strong") !=
        std::string::npos);
}

TEST_CASE("a member with another scale stays a signal and splits the series") {
  const CanId id = CanId::extended(0x18FF0001);
  Survey survey;
  survey.messages.push_back(surveyed(id, 0.1));
  Correlation correlation;
  for (int n = 1; n <= 8; ++n) {
    const std::string span = whole_bytes(n - 1, n - 1);
    correlation.proposals.push_back(
        proposed(std::string("temp_") + std::to_string(n), id, span, n == 4 ? 0.5 : 1));
  }
  const std::string text = drafted(correlation, survey);
  CHECK(text.find("series temp 1..3\n") != std::string::npos);
  CHECK(text.find("signal temp_4\n") != std::string::npos);
  CHECK(text.find("series temp 5..8\n") != std::string::npos);
}

TEST_CASE("a switch whose words stand the other way round is no member of the others' series") {
  const CanId id = CanId::standard(0x2B0);
  Survey survey;
  survey.messages.push_back(surveyed(id, 0.1));
  Correlation correlation;
  for (int n = 1; n <= 7; ++n) {
    Proposal contact = proposed("contact_" + std::to_string(n), id, "0." + std::to_string(n), 1);
    contact.unit = "state";
    contact.states = n == 4 ? std::map<std::uint64_t, std::string>{{0, "closed"}, {1, "open"}}
                            : std::map<std::uint64_t, std::string>{{0, "open"}, {1, "closed"}};
    correlation.proposals.push_back(contact);
  }
  const std::string text = drafted(correlation, survey);
  CHECK(text.find("series contact 1..3\n") != std::string::npos);
  CHECK(text.find("signal contact_4\n    bits 0.4\n    state 0 = closed\n    state 1 = open\n") !=
        std::string::npos);
  CHECK(text.find("series contact 5..7\n") != std::string::npos);
}

TEST_CASE("a code that one member reserves is no number of the others of its series") {
  const CanId id = CanId::standard(0x2C0);
  Survey survey;
  survey.messages.push_back(surveyed(id, 0.1));
  Correlation correlation;
  for (int n = 1; n <= 4; ++n) {
    correlation.proposals.push_back(
        proposed("temp_" + std::to_string(n), id, whole_bytes(n - 1, n - 1), 1));
    if (n == 3) correlation.proposals.back().reserved = {0xFF};
  }
  const std::string text = drafted(correlation, survey);
  CHECK(text.find("series temp 1..4\n") != std::string::npos);
  CHECK(text.find("    reserved 0xFF not-available\n") != std::string::npos);
}

TEST_CASE("a code of the start-up is reserved by its own word, with or without the others") {
  const CanId id = CanId::standard(0x2C0);
  Survey survey;
  survey.messages.push_back(surveyed(id, 0.1));
  Correlation correlation;
  correlation.proposals.push_back(proposed("temp", id, whole_bytes(0, 1), 1));
  correlation.proposals.back().reserved = {0, 0xFFFF};
  correlation.proposals.back().startup_codes = {0};
  correlation.proposals.push_back(proposed("oil", id, whole_bytes(2, 3), 1));
  correlation.proposals.back().startup_codes = {0x8000};
  const std::string text = drafted(correlation, survey);
  CHECK(text.find("    reserved 0 start-up\n    reserved 0xFFFF not-available\n") !=
        std::string::npos);
  CHECK(text.find("    reserved 0x8000 start-up\n") != std::string::npos);
}

TEST_CASE("the evidence of a signal and of a series ends with what its session is known by") {
  const CanId id = CanId::standard(0x2C0);
  Survey survey;
  survey.messages.push_back(surveyed(id, 0.1));
  Correlation correlation;
  for (int n = 1; n <= 4; ++n) {
    correlation.proposals.push_back(
        proposed("temp_" + std::to_string(n), id, whole_bytes(n - 1, n - 1), 1));
  }
  correlation.proposals.push_back(proposed("oil", id, whole_bytes(5, 5), 1));
  DraftSource source;
  source.capture = "a.capture";
  source.digest = "0123456789abcdef";
  const SignalMap map = draft_map(correlation, survey, source);
  REQUIRE(map.messages.at(0).signals.size() == 2);
  for (const SignalEntry& signal : map.messages[0].signals) {
    CHECK(signal.seen.at(0).text.ends_with(", digest 0123456789abcdef"));
  }
}

TEST_CASE("a code that one member of a series said later as well is not of the start-up alone") {
  const CanId id = CanId::standard(0x2C0);
  Survey survey;
  survey.messages.push_back(surveyed(id, 0.1));
  Correlation correlation;
  for (int n = 1; n <= 4; ++n) {
    correlation.proposals.push_back(
        proposed("temp_" + std::to_string(n), id, whole_bytes(n - 1, n - 1), 1));
    correlation.proposals.back().reserved = {0, 0xFF};
    correlation.proposals.back().startup_codes = {0xFF};
    if (n != 3) correlation.proposals.back().startup_codes.push_back(0);
  }
  const std::string text = drafted(correlation, survey);
  CHECK(text.find("series temp 1..4\n") != std::string::npos);
  CHECK(text.find("    reserved 0 not-available\n    reserved 0xFF start-up\n") !=
        std::string::npos);
}

TEST_CASE("of two channels that want the same bits the better one gets them, the other is a note") {
  const CanId id = CanId::standard(0x1A4);
  Survey survey;
  survey.messages.push_back(surveyed(id, 0.02));
  survey.messages[0].counters.push_back({*parse_span("1.3..1.0"), 1, 16});
  survey.messages[0].counters.push_back({*parse_span("6.3..6.0"), 1, 16});
  Correlation correlation;
  correlation.proposals.push_back(proposed("sum", id, "0.7..1.0", 0.1));
  correlation.proposals.back().derived = true;
  correlation.proposals.push_back(proposed("pack_voltage", id, "0.7..1.0", 0.1));
  correlation.proposals.push_back(proposed("pack_voltage", id, "2.7..3.0", 0.1));
  correlation.proposals.back().rank = 2;
  const std::string text = drafted(correlation, survey);
  CHECK(text.find("signal pack_voltage\n    bits 0.7..1.0\n") != std::string::npos);
  CHECK(text.find("note also proposed: sum in bits 0.7..1.0, which pack_voltage has") !=
        std::string::npos);
  CHECK(text.find("note also found: a counter in bits 1.3..1.0, which pack_voltage has") !=
        std::string::npos);
  CHECK(text.find("counter bits 6.3..6.0 modulo 16") != std::string::npos);
  CHECK(text.find("2.7..3.0") == std::string::npos);
}

TEST_CASE("a field on a curve becomes a table, its points as many digits as they are known to") {
  const CanId id = CanId::standard(0x2B0);
  Survey survey;
  survey.messages.push_back(surveyed(id, 0.1));
  Correlation correlation;
  for (const std::string name : {"temp_1", "temp_2"}) {  // look-alikes, each with its own table
    const int byte = name == "temp_1" ? 0 : 2;
    Proposal p = proposed(name, id, whole_bytes(byte, byte + 1), 1);
    p.unit = "°C";
    p.scale = -0.07;
    p.residual_rms = 0.0312;
    p.table = {{500.123456, 60.123456, 0.25}, {750, 41.5, std::nan("")}, {1000, 25, 0.125}};
    correlation.proposals.push_back(p);
  }
  const std::string text = drafted(correlation, survey);
  CHECK(text.find(
            "  signal temp_1\n"
            "    bits 0.7..1.0\n"
            "    value = table °C\n"
            "    point 500.123 = 60.123\n"
            "    point 750 = 41.5\n"
            "    point 1000 = 25\n"
            "    status proposed\n"
            "    note 2 points were measured; those between follow a smooth curve\n"
            "    seen one.capture session 3: strong, a table, residual 0.0312 °C, 12 levels\n") !=
        std::string::npos);
  CHECK(text.find("  signal temp_2\n") != std::string::npos);
}
