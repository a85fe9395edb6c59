#include "decoder/touch/redraws.h"

#include <algorithm>
#include <random>

namespace foundling::touch {
namespace {

double best_of(const Entries& entries, const std::vector<Draw>& draws) {
  double best = -1e300;
  for (const auto& [candidate, entry] : entries) {
    best = std::max(best, entry.log_share + follow(entry.history, draws).log_evidence);
  }
  return best;
}

}  // namespace

double chance_by_redraws(const TouchTest& test, int redraws, std::uint64_t seed) {
  if (test.entries().empty()) return 1;
  const double seen = best_of(test.entries(), test.draws());
  std::mt19937_64 random(seed);  // its sequence is fixed by the standard
  std::vector<Draw> draws = test.draws();
  int as_good = 0;
  for (int i = 0; i < redraws; ++i) {
    for (Draw& draw : draws) draw.place = static_cast<int>(random() % places);
    if (best_of(test.entries(), draws) >= seen) ++as_good;
  }
  return (1.0 + as_good) / (1.0 + redraws);
}

}  // namespace foundling::touch
