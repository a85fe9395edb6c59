// Two halves of one steady session do not differ. FOUNDLING_AGAINST_RUNS says how many boards of
// each family (default 1), FOUNDLING_AGAINST_FIRST_SEED with which they begin; README.md beside
// this file has the figures of many.
#include <doctest/doctest.h>

#include <cstdlib>
#include <string>

#include "decoder/report/against_report.h"
#include "tests/against/steady_board.h"

namespace foundling::test {
namespace {

std::uint64_t runs() {
  const char* wanted = std::getenv("FOUNDLING_AGAINST_RUNS");
  return wanted == nullptr ? 1 : std::strtoull(wanted, nullptr, 10);
}

std::uint64_t first_seed() {
  const char* wanted = std::getenv("FOUNDLING_AGAINST_FIRST_SEED");
  return wanted == nullptr ? 7000 : std::strtoull(wanted, nullptr, 10);
}

struct Tally {
  std::uint64_t runs = 0, differing = 0;

  void count(const Messages& messages, double share, const std::string& what) {
    const auto [a, b] = cut(messages, share);
    const Against result = held(a, b);
    ++runs;
    if (!result.differences.empty()) ++differing;
    for (const Difference& d : result.differences) {
      MESSAGE(what, ": ", (d.id ? d.id->number() : 0), ' ', kind_word(d.kind), ' ',
              difference_words(d), " chance ", d.chance);
    }
  }
};

}  // namespace

TEST_CASE("two parts of one steady session differ in no more than one of a hundred runs") {
  Tally tally;
  for (const recovery::Family family : recovery::all_families()) {
    if (recovery::name_of(family) == "reset")
      continue;  // resets are no steady state, and are named
    for (std::uint64_t i = 0; i < runs(); ++i) {
      const std::uint64_t seed = first_seed() + i;
      const double duration_s = 60 + 60 * static_cast<double>(i % 4);
      tally.count(steady_board(family, seed, duration_s).messages, i % 3 == 2 ? 0.3 : 0.5,
                  std::string(recovery::name_of(family)) + ' ' + std::to_string(seed));
    }
  }
  for (std::uint64_t i = 0; i < runs(); ++i) {
    tally.count(steady_tractor(first_seed() + i, 60 + 60 * static_cast<double>(i % 3)), 0.5,
                "tractor " + std::to_string(first_seed() + i));
  }
  MESSAGE(tally.differing, " of ", tally.runs, " runs differ");
  CHECK(tally.differing * 100 <= tally.runs);
}

}  // namespace foundling::test
