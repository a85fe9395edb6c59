// Where things sit in the pack and on its connector: kept by the formatter, the merges and JSON.
#include "schemas/signals/where.h"

#include <doctest/doctest.h>

#include <string>

#include "schemas/signals/compare.h"
#include "schemas/signals/format.h"
#include "schemas/signals/merge.h"
#include "schemas/signals/merge_maps.h"
#include "schemas/signals/merge_signal.h"
#include "schemas/signals/read.h"
#include "schemas/signals/write.h"

using namespace foundling;

namespace {

SignalText read_good(const std::string& text) {
  SignalText read = read_signals(text);
  REQUIRE_MESSAGE(read.ok(), describe(read.diagnostics, "test", text));
  return read;
}

const std::string placed = R"(foundling signals 1

board "orchard tractor, 28 cells"
pin 7 "CAN high"
pin 8 "CAN low"  # brown

message 1A4 every 20 ms length 8
  pin A1 "wake line"
  signal temp_1
    bits 0.7..0.0
    value = raw °C
    status proposed
    where "7 left of the fan"
  series cell 1..3
    bits 1.7..1.0 + (n - 1) * 1 byte
    value = raw * 0.02 V
    status proposed
    where 1..2 "module 3"
    where 2 "third from the minus end"
)";

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

}  // namespace

TEST_CASE("places and pins are laid out as they are read, and read as they are laid out") {
  const SignalText read = read_good(placed);
  CHECK(format(read.document) == placed);
  CHECK(read_good(write_signals(read.map)).map == read.map);
  REQUIRE(read.map.pins.size() == 2);
  CHECK(read.map.pins[1] == Pin{"8", "CAN low"});
  REQUIRE(read.map.messages[0].pins.size() == 1);
  CHECK(read.map.messages[0].pins[0].text == "wake line");
}

TEST_CASE("a member is where all the words for it say, and a number in quotes is a word") {
  const SignalText read = read_good(placed);
  const MessageEntry& message = read.map.messages[0];
  CHECK(where_of(message.signals[0], 0) == "7 left of the fan");
  CHECK(where_of(message.signals[1], 1) == "module 3");
  CHECK(where_of(message.signals[1], 2) == "module 3, third from the minus end");
  CHECK(where_of(message.signals[1], 3).empty());
  const auto member = member_of(message, message.signals[1], 2);
  REQUIRE(member);
  CHECK(where_of(*member, 0) == "module 3, third from the minus end");
}

TEST_CASE("new findings leave places and pins as they are") {
  const std::string found = R"(foundling signals 1

message 1A4 every 20 ms length 8
  signal temp_1
    bits 0.7..0.0
    value = raw - 40 °C
    status proposed
    seen second.capture session 2: strong
)";
  const std::string text =
      format(merge_findings(read_good(placed).document, read_good(found).map).document);
  CHECK(has(text, "value = raw - 40 °C"));
  CHECK(has(text, "where \"7 left of the fan\""));
  CHECK(has(text, "pin 8 \"CAN low\"  # brown"));
  CHECK(has(text, "  pin A1 \"wake line\""));
}

TEST_CASE("two people's places are merged, and what both changed is shown") {
  const auto changed = [](const std::string& from, const std::string& to) {
    std::string text = placed;
    text.replace(text.find(from), from.size(), to);
    return read_good(text).document;
  };
  const Document base = read_good(placed).document;
  const Document ours = changed("third from the minus end", "under the fuse");
  const auto merged = merge_maps(base, ours, changed("CAN high", "CAN H"));
  CHECK(has(format(merged.document), "where 2 \"under the fuse\""));
  CHECK(has(format(merged.document), "pin 7 \"CAN H\""));
  const auto both = merge_maps(base, ours, changed("third from the minus end", "at the door"));
  CHECK(has(format(both.document), "conflict: theirs: where 2 \"at the door\""));
}

TEST_CASE("a member that was carried elsewhere is said by its name") {
  std::string text = placed;
  text.replace(text.find("third from"), 5, "fifth");
  const auto changes = compare_maps(read_good(placed).map, read_good(text).map);
  REQUIRE(changes.size() == 1);
  CHECK(has(changes[0].subject, "cell_2"));
  CHECK(changes[0].what == "where");
}
