#include <doctest/doctest.h>

#include <cmath>

#include "tests/analysis/survey_board.h"

namespace foundling::test {
namespace {

// A message without counter, checksum or selector: noise, walks, ramps, steps, hovering values.
MessageSeries decoy_message(std::uint64_t seed) {
  Decoys decoys(seed);
  std::mt19937_64 random(seed);
  const int length = decoys.below(4) == 0 ? static_cast<int>(2 + decoys.below(7)) : 8;
  std::array<int, 8> kind{};
  std::array<double, 8> level{};
  std::array<double, 8> pace{};
  for (std::size_t b = 0; b < 8; ++b) {
    kind[b] = static_cast<int>(decoys.below(8));
    level[b] = static_cast<double>(decoys.below(60'000));
    pace[b] = static_cast<double>(decoys.below(200)) / 100;
  }
  std::normal_distribution<double> noise(0, 1);
  return make_message(
      CanId::standard(static_cast<std::uint32_t>(decoys.below(0x7FF))), length,
      60 + decoys.below(4000), [&](std::size_t i, Bytes& bytes) {
        for (std::size_t b = 0; b < 8; ++b) {
          const auto put = [&](double v) {
            bytes[b] = static_cast<std::uint8_t>(static_cast<std::int64_t>(v) & 0xFF);
          };
          switch (kind[b]) {
            case 0:
              decoys.noise(bytes, b);
              break;
            case 1:  // a walk; two bytes big-endian
              if (b < 7) decoys.walk(bytes, b, 1 + static_cast<int>(pace[b] * 8)), ++b;
              break;
            case 2:  // a slow drift with noise
              put(level[b] + pace[b] * 0.05 * static_cast<double>(i) + pace[b] * noise(random));
              break;
            case 3: {  // a charge: the integral of a current that is set anew every 150 frames
              if (b == 7) break;
              const double current = pace[b] * static_cast<double>(i / 150 * 5 % 7) / 6;
              level[b] += current + 0.1 * (level[b] < 30'000 ? 0.0 : noise(random));
              const auto raw = static_cast<std::int64_t>(level[b]);
              bytes[b] = static_cast<std::uint8_t>(raw >> 8);
              bytes[++b] = static_cast<std::uint8_t>(raw);
              break;
            }
            case 4:  // a quiet value about to tip over
              put(127.5 + 0.6 * noise(random));
              break;
            case 5:  // plateaus
              put(level[b] + 31 * static_cast<double>(i / 150 * 7 % 5));
              break;
            case 6:  // a sum of the bytes before: a computed signal
              bytes[b] = static_cast<std::uint8_t>(b < 2 ? 3 : (bytes[b - 1] + bytes[b - 2]) / 2);
              break;
            default:
              bytes[b] = static_cast<std::uint8_t>(level[b]);
          }
        }
      });
}

std::string told(const MessageSurvey& m) {
  std::string text;
  for (const auto& c : m.counters) {
    text += "counter " + to_string(c.span) + " " + std::to_string(c.step) + " " +
            std::to_string(c.modulus) + "\n";
  }
  for (const auto& c : m.checksums) {
    text += "checksum " + to_string(c.span) + " " + c.kind + " " + c.polynomial + "\n";
  }
  for (const auto& s : m.selectors) text += "selector " + to_string(s.span) + "\n";
  return text;
}

}  // namespace

TEST_CASE("at most one in a hundred messages without structure is said to have some") {
  int counters = 0;
  int checksums = 0;
  int selectors = 0;
  constexpr int messages = 600;
  for (int seed = 1; seed <= messages; ++seed) {
    const MessageSurvey found = survey_message(decoy_message(static_cast<std::uint64_t>(seed)));
    if (!told(found).empty()) MESSAGE("seed " << seed << ": " << told(found));
    counters += found.counters.empty() ? 0 : 1;
    checksums += found.checksums.empty() ? 0 : 1;
    selectors += found.selectors.empty() ? 0 : 1;
  }
  CHECK(counters <= messages / 100);
  CHECK(checksums <= messages / 100);
  CHECK(selectors <= messages / 100);
}

}  // namespace foundling::test
