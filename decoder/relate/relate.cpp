#include "decoder/relate/relate.h"

#include <algorithm>

#include "decoder/relate/alike.h"

namespace foundling::relate {
namespace {

// The members behind a strong sum, or the largest group of alike fields.
std::vector<std::size_t> members_of(const Relations& found) {
  const bool strong = !found.sums.empty() && found.sums.front().strong;
  return strong ? found.sums.front().members : found.largest_alike;
}

bool is_total(const Relations& found, std::size_t field) {
  return std::ranges::any_of(
      found.sums, [field](const SumRelation& sum) { return sum.strong && sum.total == field; });
}

void find_pairs(const LookedAt& seen, Relations& out) {
  // Members go with each other as far as they move alike, which says nothing about copies.
  std::vector<bool> members(seen.fields.size());
  for (std::size_t f = 0; f < members.size(); ++f) {
    const auto is_piece_of = [&](std::size_t m) {
      return share_bits(seen.fields[f], seen.fields[m]);
    };
    members[f] = seen.fields[f].is_other_cut || std::ranges::any_of(out.extremes_of, is_piece_of);
  }
  for (const std::size_t f : out.extremes_of) members[f] = true;
  for (const ExtremeRelation& one : out.extremes) {
    if (one.strong) members[one.field] = true;
  }
  out.pairs = find_copies(seen, members);
  // That two sums of the same members go together is said already.
  std::erase_if(out.pairs, [&](const PairRelation& pair) {
    return is_total(out, pair.field) && is_total(out, pair.of) && pair.kind == PairKind::alike;
  });
  std::vector<bool> known = members;
  for (const PairRelation& pair : out.pairs) known[pair.field] = true;
  // A total is no copy of another: it may be a factor of the power.
  for (const SumRelation& sum : out.sums) {
    if (sum.strong) known[sum.total] = false;
  }
  std::ranges::copy(find_products(seen, known), std::back_inserter(out.pairs));
  std::ranges::copy(find_integrals(seen, known), std::back_inserter(out.pairs));
}

}  // namespace

std::size_t Relations::moved() const {
  return static_cast<std::size_t>(
      std::ranges::count(fields, false, [](const Field& field) { return field.is_other_cut; }));
}

Relations find_relations(std::span<const MessageSeries> messages, const Survey& survey,
                         std::span<const ChannelSeries> channels) {
  LookedAt seen = look_at(messages, survey);
  Relations out;
  const auto groups = alike_groups(seen.fields);
  if (!groups.empty()) out.largest_alike = groups.front();
  out.sums = find_sums(seen, groups);
  if (!out.sums.empty() && out.sums.front().strong) {
    out.scale = scale_of_sum(seen, out.sums.front(), channels);
  }
  out.extremes_of = members_of(out);
  std::vector<std::size_t> totals;
  for (const SumRelation& sum : out.sums) {
    if (sum.strong) totals.push_back(sum.total);
  }
  out.extremes = find_extremes(seen, messages, out.extremes_of, totals);
  find_pairs(seen, out);
  out.bits = state_bits(seen, messages);
  out.gated = find_gated(seen, out.bits);
  out.thresholds = find_thresholds(seen, out.bits, out.pairs);
  out.window_s = seen.grid.window_s;
  out.seconds = static_cast<double>(seen.grid.windows) * seen.grid.window_s;
  out.fields = std::move(seen.fields);
  return out;
}

}  // namespace foundling::relate
