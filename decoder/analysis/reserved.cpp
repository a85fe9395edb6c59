#include "decoder/analysis/reserved.h"

#include <algorithm>
#include <limits>
#include <map>

namespace foundling {

namespace {

std::uint64_t all_ones_of(const Span& span) { return (std::uint64_t{1} << span.width()) - 1; }

bool may_have_reserved(const FieldPlace& place, Coding coding) {
  const int width = place.span.width();
  return coding == Coding::natural && width >= 4 && width <= 32;
}

// Whether row i has the field at all.
bool shown(const MessageSeries& message, std::size_t i, const FieldPlace& place) {
  if (!message.lengths.empty() && message.lengths[i] <= place.span.last_byte()) return false;
  return !place.page || extract(place.page->span, message.row(i)) == place.page->value;
}

}  // namespace

std::vector<std::uint64_t> reserved_codes(const MessageSeries& message, const FieldPlace& place,
                                          Coding coding) {
  if (!may_have_reserved(place, coding)) return {};
  const std::uint64_t all_ones = all_ones_of(place.span);
  std::uint64_t greatest = 0;
  std::size_t seen = 0;
  for (std::size_t i = 0; i < message.size(); ++i) {
    if (!shown(message, i, place)) continue;
    const std::uint64_t raw = extract(place.span, message.row(i));
    if (raw == all_ones) {
      ++seen;
    } else {
      greatest = std::max(greatest, raw);
    }
  }
  // J1939-71's valid range ends at FA of FF, and FC begins what stands for no value: 1/64 below.
  const std::uint64_t clear = std::max<std::uint64_t>(all_ones / 64, 2);
  if (seen < 2 || greatest > all_ones - clear) return {};
  return {all_ones};
}

std::vector<std::uint64_t> reserved_in_company(const MessageSeries& message,
                                               const Proposal& proposal,
                                               std::span<const Proposal> others) {
  const FieldPlace& place = proposal.place;
  const Coding coding = coding_of(proposal);
  if (!may_have_reserved(place, coding) || !proposal.states.empty()) return {};
  const auto in_company = [&](std::size_t i) {
    return std::ranges::any_of(others, [&](const Proposal& other) {
      if (other.place.bus != place.bus || !(other.place.id == place.id)) return false;
      if (other.place.span.overlaps(place.span) || !shown(message, i, other.place)) return false;
      const std::uint64_t raw = extract(other.place.span, message.row(i));
      return std::ranges::find(other.reserved, raw) != other.reserved.end();
    });
  };
  std::size_t seen = 0;
  for (std::size_t i = 0; i < message.size(); ++i) {
    if (!shown(message, i, place)) continue;
    if (extract(place.span, message.row(i)) != all_ones_of(place.span)) continue;
    if (!in_company(i)) return {};
    ++seen;
  }
  constexpr std::size_t least = 2;
  if (seen < least) return {};
  return {all_ones_of(place.span)};
}

SubstituteCodes substitute_codes(const MessageSeries& message, const std::vector<bool>& left_out,
                                 const FieldPlace& place, Coding coding) {
  SubstituteCodes out;
  if (left_out.empty() || coding == Coding::ieee754) return out;
  double low = std::numeric_limits<double>::infinity();
  double high = -low;
  struct Seen {
    std::size_t early = 0;  // before any frame that counts
    std::size_t later = 0;
  };
  std::map<std::uint64_t, Seen> seen;
  for (std::size_t i = 0; i < message.size(); ++i) {
    if (!shown(message, i, place)) continue;
    const std::uint64_t raw = extract(place.span, message.row(i));
    if (left_out[i]) {
      ++(low > high ? seen[raw].early : seen[raw].later);
      continue;
    }
    const double value = number_of(raw, place.span.width(), coding);
    low = std::min(low, value);
    high = std::max(high, value);
  }
  // A field's neighbour may have been without a value: what moved then, or came once, is no code.
  constexpr std::size_t least = 2;
  for (const auto& [code, count] : seen) {
    const double value = number_of(code, place.span.width(), coding);
    if (count.early + count.later < least || (value >= low && value <= high)) continue;
    out.all.push_back(code);
    if (count.later == 0) out.startup.push_back(code);
  }
  return out;
}

}  // namespace foundling
