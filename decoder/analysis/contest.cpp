#include "decoder/analysis/contest.h"

#include <algorithm>
#include <optional>

namespace foundling {
namespace {

Candidate* best_of(Claim& claim) {
  auto& candidates = claim.search.candidates;
  const auto best = std::find_if(candidates.begin(), candidates.end(), [&](const Candidate& c) {
    return follows(c, claim.search.rows.kind);
  });
  return best == candidates.end() ? nullptr : &*best;
}

struct Retreat {
  std::optional<Candidate> left;
  double loss = 0;  // bits: the frames written as one quantity, and the channel told by it
};

Retreat retreat(std::span<const Stream> streams, const Claim& claim, const Candidate& own,
                const Candidate& other, std::int64_t end_ns) {
  Retreat out;
  out.left = without_bits(streams, *claim.channel, own, other.field.span, end_ns);
  if (out.left && !follows(*out.left, claim.search.rows.kind)) out.left.reset();
  const auto worth = [](const Candidate& c) { return c.field.saving + c.score; };
  out.loss = worth(own) - (out.left ? worth(*out.left) : 0);
  return out;
}

}  // namespace

void contest_bits(std::span<const Stream> streams, std::vector<Claim>& claims,
                  std::int64_t end_ns) {
  for (std::size_t i = 0; i < claims.size(); ++i) {
    for (std::size_t k = i + 1; k < claims.size(); ++k) {
      Candidate* a = best_of(claims[i]);
      Candidate* b = best_of(claims[k]);
      if (a == nullptr || b == nullptr || claims[i].derived || claims[k].derived) continue;
      if (a->field.span == b->field.span) continue;  // one field that two channels follow
      const FieldPlace place_a = streams[a->stream].place(a->field.span);
      const FieldPlace place_b = streams[b->stream].place(b->field.span);
      if (!share_bits(place_a, place_b)) continue;
      Retreat of_a = retreat(streams, claims[i], *a, *b, end_ns);
      Retreat of_b = retreat(streams, claims[k], *b, *a, end_ns);
      const bool a_yields = of_a.loss <= of_b.loss;
      Retreat& retreated = a_yields ? of_a : of_b;
      // One that has nothing left is for the settling of claims to judge, as before.
      if (retreated.left) (a_yields ? *a : *b) = std::move(*retreated.left);
    }
  }
}

}  // namespace foundling
