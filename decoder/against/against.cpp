#include "decoder/against/against.h"

#include <algorithm>
#include <set>
#include <tuple>

#include "decoder/against/blocks.h"
#include "decoder/against/judgements.h"

namespace foundling {
namespace {

using held::Judged;
using held::MessagePair;

bool in_both(const MessagePair& pair) {
  return pair.a.survey != nullptr && pair.b.survey != nullptr;
}

void judge_message(const MessagePair& pair, Judged& judged) {
  if (pair.a.series == nullptr || pair.b.series == nullptr) {
    held::judge_presence(pair, judged);
    return;
  }
  if (!in_both(pair)) return;
  held::judge_timing(pair, judged);
  const held::Form form = held::judge_form(pair, judged);
  held::note_counter_breaks(pair, form.selector, judged);
  held::judge_values(pair, form, judged);
}

// Fewer blocks than the surest order needs: whatever it says, it can hardly be called a difference.
bool has_too_few(const MessagePair& pair) {
  const auto blocks = [](const held::OneSide& side) {
    return side.series == nullptr ? std::size_t{0} : held::block_count(side.series->size());
  };
  const std::size_t a = blocks(pair.a);
  const std::size_t b = blocks(pair.b);
  return std::max(a, b) < held::most_blocks || (a > 0 && b > 0 && std::min(a, b) < 8);
}

// What the recorder was set to: no chance is in it. The one interface's, whatever else came.
std::vector<Difference> bit_rates(const Recorded& a, const Recorded& b) {
  std::vector<Difference> differences;
  const auto look = [&](DifferenceKind kind, std::int64_t in_a, std::int64_t in_b) {
    if (in_a == 0 || in_b == 0 || in_a == in_b) return;
    Difference difference;
    difference.kind = kind;
    difference.side = in_a > in_b ? Side::a : Side::b;
    difference.bus = a.messages.empty() ? std::uint8_t{0} : a.messages.front().bus;
    difference.a = static_cast<double>(in_a);
    difference.b = static_cast<double>(in_b);
    differences.push_back(difference);
  };
  look(DifferenceKind::bit_rate, a.bit_rate, b.bit_rate);
  look(DifferenceKind::data_bit_rate, a.data_bit_rate, b.data_bit_rate);
  return differences;
}

bool earlier(const Difference& x, const Difference& y) {
  const auto key = [](const Difference& d) {
    const bool extended = d.id && d.id->is_extended();
    return std::tuple(d.bus, d.id.has_value(), extended, d.id ? d.id->number() : 0U, d.kind, d.page,
                      d.span);
  };
  return key(x) < key(y);
}

}  // namespace

Against against(const Recorded& a, const Recorded& b) {
  const std::vector<MessagePair> pairs = held::pair_up(a, b);
  Judged judged;
  for (const MessagePair& pair : pairs) judge_message(pair, judged);
  held::judge_silences(pairs, judged);
  held::judge_resets(pairs, judged);

  Against result;
  result.messages = pairs.size();
  result.comparisons = judged.comparisons;
  result.differences = bit_rates(a, b);
  std::set<std::pair<std::uint8_t, CanId>> differing;
  for (Difference& difference : judged.differences) {
    difference.chance = std::min(
        1.0, difference.chance * static_cast<double>(std::max<std::size_t>(1, judged.comparisons)));
    if (difference.chance > most_chance_of_a_difference) continue;
    if (difference.id) differing.insert({difference.bus, *difference.id});
    result.differences.push_back(std::move(difference));
  }
  for (const MessagePair& pair : pairs) {
    if (differing.contains({pair.bus, pair.id})) continue;
    ++(has_too_few(pair) ? result.too_few : result.alike);
  }
  std::stable_sort(result.differences.begin(), result.differences.end(), earlier);
  return result;
}

}  // namespace foundling
