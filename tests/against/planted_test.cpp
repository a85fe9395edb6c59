// Every planted difference is named, and none besides, whichever of the recordings has it.
// FOUNDLING_AGAINST_RUNS says on how many sessions each is tried (default 1).
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdlib>

#include "decoder/report/against_report.h"
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

Found judge(const Planted& planted, const Against& result) {
  Found found;
  for (const Difference& d : result.differences) {
    const bool wanted = is(d, planted.kind, planted.number);
    const bool follows =
        std::any_of(planted.follows.begin(), planted.follows.end(),
                    [&](const auto& other) { return is(d, other.first, other.second); });
    found.named = found.named || wanted || follows;
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

}  // namespace foundling::test
