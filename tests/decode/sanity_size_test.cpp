// The sanity watch over the largest maps there are: what it costs grows with the map, not with its
// square.
#include <doctest/doctest.h>
#include <sys/resource.h>

#include <ctime>
#include <string>

#include "decoder/decode/sanity.h"
#include "schemas/signals/read.h"

namespace foundling {
namespace {

long most_kilobytes() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return usage.ru_maxrss;
}

// Seconds of the processor and kilobytes at most; the address sanitizer keeps what was given back.
void check_cost(const std::string& map_text, std::size_t signals, double seconds, long kilobytes) {
  const auto read = read_signals(map_text);
  REQUIRE(read.diagnostics.empty());
  const Decoder decoder(read.map);
  REQUIRE(decoder.fields().size() == signals);
  const long before = most_kilobytes();
  const std::clock_t start = std::clock();
  const SanityWatch watch(read.map, decoder.fields());
  CHECK(static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC < seconds);
  CHECK(most_kilobytes() - before < kilobytes);
}

TEST_CASE("a map of 500 bytes with 16,384 signals costs little memory") {
  std::string text =
      "foundling signals 1\nmessage 100 length 64\n  selector page bits 1.7..0.0 values 0..4095\n";
  for (int i = 0; i < 4; ++i) {
    const std::string byte = std::to_string(2 + i);
    text += "  series " + std::string(1, static_cast<char>('a' + i)) +
            " 1..4096\n    on page (n - 1)\n    bits " + byte + ".7.." + byte + ".0\n";
  }
  CHECK(text.size() < 500);
  check_cost(text, 16384, 5, 256 * 1024);
}

TEST_CASE("thousands of groups are not held against every signal one by one") {
  std::string text = "foundling signals 1\n";
  for (int message = 0; message < 64; ++message) {
    text += "message " + std::to_string(100 + message) +
            " length 64\n  selector page bits 0.7..0.0 values 0..3\n";
    for (int byte = 1; byte < 63; ++byte) {
      const std::string place = std::to_string(byte);
      text += "  series g" + std::to_string(message) + '_' + place +
              "x 1..4\n    on page (n - 1)\n    bits " + place + ".7.." + place +
              ".0\n    value = raw * 0.001 V\n";
    }
  }
  check_cost(text, 64 * 62 * 4, 5, 256 * 1024);
}

}  // namespace
}  // namespace foundling
