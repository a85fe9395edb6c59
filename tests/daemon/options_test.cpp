#include "daemon/options.h"

#include <doctest/doctest.h>

namespace foundling {
namespace {

std::variant<Options, int> read(std::vector<const char*> words) {
  words.insert(words.begin(), "foundlingd");
  return read_options(static_cast<int>(words.size()), words.data());
}

}  // namespace

TEST_CASE("interfaces are buses in the order they are named") {
  const auto outcome = read({"--interface", "can1", "--interface", "can0", "--capture", "x.capture",
                             "--pack", "p", "--bit-rate", "250000"});
  REQUIRE(std::holds_alternative<Options>(outcome));
  const auto& options = std::get<Options>(outcome);
  CHECK(options.interfaces == std::vector<std::string>{"can1", "can0"});
  CHECK(options.capture == "x.capture");
  CHECK(options.pack == "p");
  CHECK(options.bit_rate == 250000);
}

TEST_CASE("words that are not understood end with status 2") {
  const std::vector<std::vector<const char*>> bad = {
      {},
      {"--interface", "can0"},
      {"--capture", "x.capture"},
      {"--interface", "can0", "--interface", "can0", "--capture", "x.capture"},
      {"--interface", "can0", "--capture", "x.capture", "--bit-rate", "fast"},
      {"--interface", "can0", "--capture", "x.capture", "--bit-rate", "0"},
      {"--interface", "can0", "--capture", "x.capture", "extra"},
      {"--interface", "can0", "--capture", "x.capture", "--loud"},
  };
  for (const auto& words : bad) {
    const auto outcome = read(words);
    REQUIRE(std::holds_alternative<int>(outcome));
    CHECK(std::get<int>(outcome) == 2);
  }
}

TEST_CASE("asking for help is not a fault") {
  const auto outcome = read({"--help"});
  REQUIRE(std::holds_alternative<int>(outcome));
  CHECK(std::get<int>(outcome) == 0);
}

}  // namespace foundling
