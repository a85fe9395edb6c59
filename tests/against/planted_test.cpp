// Every planted difference is named, and none besides, whichever of the recordings has it.
// FOUNDLING_AGAINST_RUNS says on how many sessions each is tried (default 1).
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdlib>

#include "decoder/report/against_report.h"
#include "decoder/report/figures.h"
#include "tests/against/planted_differences.h"

namespace foundling::test {
namespace {

std::uint64_t runs() {
  const char* wanted = std::getenv("FOUNDLING_AGAINST_RUNS");
  return wanted == nullptr ? 1 : std::strtoull(wanted, nullptr, 10);
}

bool is(const Difference& d, DifferenceKind kind, std::uint32_t number) {
  return d.kind == kind && (number == 0 ? !d.id : d.id && d.id->number() == number);
}

struct Found {
  bool named = false;
  std::string invented;  // all that was, in words
};

// One line, as a person reads it.
std::string in_one_line(const std::string& text) {
  std::string line;
  for (const char c : text) {
    const bool space = c == ' ' || c == '\n';
    if (!space || (!line.empty() && line.back() != ' ')) line += space ? ' ' : c;
  }
  return line;
}

// With its message, or its bus, and in words.
bool is_in(const std::string& report, const Difference& d) {
  const std::string name = d.id ? identifier_text(*d.id) : "bus " + std::to_string(d.bus);
  if (d.kind == DifferenceKind::only_in_one) {
    const auto line = report.find(d.side == Side::a ? "only in A: " : "only in B: ");
    return line != std::string::npos && report.find(name, line) != std::string::npos;
  }
  return report.find(name + ' ' + difference_words(d)) != std::string::npos;
}

Found judge(const Planted& planted, const Against& result) {
  Found found;
  const std::string report = in_one_line(against_text(result, {}));
  for (const Difference& d : result.differences) {
    const bool wanted = is(d, planted.kind, planted.number);
    const bool follows =
        std::any_of(planted.follows.begin(), planted.follows.end(),
                    [&](const auto& other) { return is(d, other.first, other.second); });
    found.named = found.named || ((wanted || follows) && is_in(report, d));
    if (wanted || follows) continue;
    found.invented +=
        (d.id ? std::to_string(d.id->number()) : "bus") + ' ' + difference_words(d) + "; ";
  }
  return found;
}

}  // namespace

TEST_CASE("every planted difference is named, and none besides") {
  for (const Planted& planted : planted_differences()) {
    for (std::uint64_t seed = 1; seed <= runs(); ++seed) {
      auto [a, b] = cut(steady_tractor(seed, 80), 0.5);
      std::mt19937_64 random(seed);
      planted.plant(a, b, random);
      for (const bool swapped : {false, true}) {
        const Found found = judge(planted, swapped ? held(b, a) : held(a, b));
        INFO(planted.what, ", seed ", seed, swapped ? ", swapped" : "");
        CHECK(found.named);
        CHECK(found.invented == "");
      }
    }
  }
}

TEST_CASE("a reset is named with the time at which it was") {
  for (const Planted& planted : planted_differences()) {
    if (planted.kind != DifferenceKind::reset) continue;
    auto [a, b] = cut(steady_tractor(3, 80), 0.5);
    std::mt19937_64 random(3);
    const double at_s = 10 + static_cast<double>(std::mt19937_64(3)() % 8);
    planted.plant(a, b, random);
    const Against result = held(a, b);
    REQUIRE(result.differences.size() == 1);
    CHECK(result.differences[0].side == Side::b);
    CHECK(std::abs(result.differences[0].from_s - at_s) < 0.5);
  }
}

}  // namespace foundling::test
