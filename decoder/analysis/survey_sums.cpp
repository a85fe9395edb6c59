#include "decoder/analysis/survey_sums.h"

#include <algorithm>
#include <functional>
#include <map>
#include <set>

namespace foundling {
namespace {

constexpr std::size_t least_rows = 12;
constexpr double least_share = 0.995;

struct SumRule {
  std::string_view kind;
  std::uint32_t modulus;  // 0: exclusive-or
  bool negated;
  bool turned;  // an exclusive-or with a constant comes last
  std::string_view note;
};

constexpr SumRule byte_rules[] = {
    {"xor8", 0, false, false, ""},
    {"sum8", 256, false, false, ""},
    {"sum8", 256, true, false, "the sum with the checksum is constant (complemented)"},
    {"sum8", 255, false, false, "carries are added back in (modulo 255)"},
    {"sum8", 255, true, false, "carries are added back in (modulo 255), complemented"},
    {"sum8", 256, false, true, "the sum, then an exclusive-or with the final value"},
};
constexpr SumRule word_rules[] = {
    {"sum16", 65536, false, false, ""},
    {"sum16", 65536, true, false, "the sum with the checksum is constant (complemented)"},
    {"sum16", 65536, false, true, "the sum, then an exclusive-or with the final value"},
};

struct Range {
  int from;
  int to;
};

std::uint32_t folded(const SumRule& rule, const ChecksumPlace& place, const Range& range,
                     const Payload& row) {
  std::uint32_t total = 0;
  for (int b = range.from; b <= range.to; ++b) {
    if (place.owns(b)) continue;
    const std::uint32_t byte = row[static_cast<std::size_t>(b)];
    total = rule.modulus == 0 ? total ^ byte : total + byte;
  }
  return total;
}

// What must be the same in every frame if the rule holds.
std::uint32_t remainder(const SumRule& rule, std::uint32_t total, std::uint32_t checksum) {
  if (rule.modulus == 0) return total ^ checksum;
  if (rule.turned) return (total % rule.modulus) ^ checksum;
  if (rule.negated) return (checksum + total) % rule.modulus;
  return (checksum + rule.modulus - total % rule.modulus) % rule.modulus;
}

struct Tested {
  std::size_t hits = 0;
  std::uint32_t constant = 0;
  std::set<std::uint32_t> checksums;  // different ones met
};

Tested test(const ChecksumSamples& samples, const std::function<std::uint32_t(const Payload&)>& of,
            const Span& span) {
  Tested result;
  std::map<std::uint32_t, std::size_t> seen;
  std::size_t looked = 0;
  for (const Payload& row : samples.rows) {
    ++seen[of(row)];
    result.checksums.insert(static_cast<std::uint32_t>(extract(span, row)));
    if (++looked == 32 && seen.size() > 3) return result;
  }
  for (const auto& [constant, times] : seen) {
    if (times > result.hits) result.hits = times, result.constant = constant;
  }
  return result;
}

int moving_in(const ChecksumSamples& samples, const ChecksumPlace& place, const Range& range) {
  int count = 0;
  for (int b = range.from; b <= range.to; ++b) {
    if (samples.moving[static_cast<std::size_t>(b)] && !place.owns(b)) ++count;
  }
  return count;
}

std::vector<Range> ranges(const ChecksumSamples& samples, const ChecksumPlace& place) {
  std::vector<Range> result;
  const int all = moving_in(samples, place, {0, samples.length - 1});
  const auto likely = [&](int from, int to) {
    if (samples.length <= 16) return true;
    return (from <= 4 || from == place.last + 1) &&
           (to >= samples.length - 4 || to == place.first - 1);
  };
  for (int from = 0; from < samples.length; ++from) {
    for (int to = samples.length - 1; to > from; --to) {
      const int moving = moving_in(samples, place, {from, to});
      if (moving >= 2 && 2 * moving >= all && likely(from, to)) result.push_back({from, to});
    }
  }
  std::stable_sort(result.begin(), result.end(),
                   [](const Range& a, const Range& b) { return a.to - a.from > b.to - b.from; });
  return result;
}

std::uint32_t identifier_sum(const SumRule& rule, CanId id) {
  std::uint32_t total = 0;
  for (const std::uint8_t byte : identifier_bytes(id, false)) {
    total = rule.modulus == 0 ? total ^ byte : total + byte;
  }
  return rule.modulus == 0 ? total : total % rule.modulus;
}

ChecksumFinding describe(const ChecksumSamples& samples, const ChecksumPlace& place,
                         const SumRule& rule, const Range& range, std::uint32_t constant) {
  ChecksumFinding finding;
  finding.span = place.span;
  finding.kind = rule.kind;
  finding.note = rule.note;
  finding.first_byte = place.owns(range.from) ? place.last + 1 : range.from;
  finding.last_byte = place.owns(range.to) ? place.first - 1 : range.to;
  if (rule.turned) {
    finding.initial = 0;
    finding.final_xor = constant;
  } else if (constant != 0 && constant == identifier_sum(rule, samples.id)) {
    finding.includes_identifier = true;
    finding.initial = 0;
  } else {
    finding.initial = constant;
  }
  return finding;
}

}  // namespace

std::optional<ChecksumFinding> find_byte_sum(const ChecksumSamples& samples,
                                             const ChecksumPlace& place) {
  if (samples.rows.size() < least_rows) return {};
  const std::span<const SumRule> rules = place.width == 8 ? std::span<const SumRule>(byte_rules)
                                                          : std::span<const SumRule>(word_rules);
  const SumRule* best_rule = nullptr;
  Range best_range{};
  Tested best;
  for (const SumRule& rule : rules) {
    for (const Range& range : ranges(samples, place)) {
      const auto of = [&](const Payload& row) {
        return remainder(rule, folded(rule, place, range, row),
                         static_cast<std::uint32_t>(extract(place.span, row)));
      };
      const Tested tested = test(samples, of, place.span);
      if (tested.hits <= best.hits) continue;
      best = tested, best_rule = &rule, best_range = range;
    }
  }
  const auto rows = static_cast<double>(samples.rows.size());
  if (best_rule == nullptr || static_cast<double>(best.hits) < least_share * rows ||
      best.checksums.size() < 8) {
    return {};
  }
  return describe(samples, place, *best_rule, best_range, best.constant);
}

std::optional<ChecksumFinding> find_nibble_sum(const ChecksumSamples& samples, const Span& nibble) {
  constexpr std::size_t rows_for_four_bits = 32;
  if (samples.rows.size() < rows_for_four_bits) return {};
  struct Rule {
    std::string_view kind;
    bool exclusive_or, high_nibbles, negated, turned;
    std::string_view note;
  };
  constexpr Rule rules[] = {
      {"xor4", true, true, false, false, "over all other nibbles"},
      {"sum4", false, true, false, false, "over all other nibbles"},
      {"sum4", false, true, true, false, "over all other nibbles, complemented"},
      {"sum4", false, false, false, false, "over the low nibbles of all bytes"},
      {"sum4", false, false, true, false, "over the low nibbles of all bytes, complemented"},
      {"sum4", false, true, false, true, "over all other nibbles, then an exclusive-or"},
  };
  const int moving =
      static_cast<int>(std::count(samples.moving.begin(), samples.moving.end(), true));
  if (moving < 3) return {};
  for (const Rule& rule : rules) {
    const auto of = [&](const Payload& row) {
      std::uint32_t total = 0;
      for (std::uint8_t b = 0; b < samples.length; ++b) {
        for (std::uint8_t low = 0; low < 8; low = static_cast<std::uint8_t>(low + 4)) {
          if (b == nibble.lsb.byte && low == nibble.lsb.bit) continue;
          if (low == 4 && !rule.high_nibbles) continue;
          const std::uint32_t value = (std::uint32_t{row[b]} >> low) & 0xFU;
          total = rule.exclusive_or ? total ^ value : total + value;
        }
      }
      const auto own = static_cast<std::uint32_t>(extract(nibble, row));
      if (rule.exclusive_or) return total ^ own;
      if (rule.turned) return total % 16 ^ own;
      return (rule.negated ? own + total : own + 16 - total % 16) % 16;
    };
    const Tested tested = test(samples, of, nibble);
    if (static_cast<double>(tested.hits) < least_share * static_cast<double>(samples.rows.size()) ||
        tested.checksums.size() < 8) {
      continue;
    }
    ChecksumFinding finding;
    finding.span = nibble;
    finding.kind = rule.kind;
    finding.initial = rule.turned ? 0 : tested.constant;
    if (rule.turned) finding.final_xor = tested.constant;
    finding.last_byte = samples.length - 1;
    finding.note = rule.note;
    return finding;
  }
  return {};
}

std::optional<ChecksumFinding> find_j1939(const ChecksumSamples& samples) {
  constexpr std::size_t rows_needed = 8;  // different ones, of three bits: chance 2^-24
  if (samples.length != 8 || !samples.id.is_extended() || samples.rows.size() < rows_needed) {
    return {};
  }
  for (const bool four_bits : {false, true}) {
    const std::uint32_t mask = four_bits ? 0xFU : 7U;
    std::size_t hits = 0;
    bool top_used = false;
    std::set<std::uint32_t> different;
    for (const Payload& row : samples.rows) {
      std::uint32_t sum = row[7] & 0x0FU;
      for (std::size_t b = 0; b < 7; ++b) sum += row[b];
      for (const std::uint8_t byte : identifier_bytes(samples.id, false)) sum += byte;
      const std::uint32_t wanted =
          four_bits ? ((sum >> 4) + sum) & mask : (((sum >> 6) & 3U) + (sum >> 3) + sum) & mask;
      if (wanted == ((row[7] >> 4U) & mask)) ++hits;
      top_used = top_used || row[7] >= 0x80;
      different.insert(wanted);
    }
    if (static_cast<double>(hits) < least_share * static_cast<double>(samples.rows.size()) ||
        different.size() < 4) {
      continue;
    }
    // The three-bit sum fills the high nibble with a leading 0; a 1 there is somebody else's.
    const std::uint8_t top = !four_bits && top_used ? 6 : 7;
    const Span span{{7, top}, {7, 4}};
    ChecksumFinding finding;
    finding.span = span;
    finding.kind = "j1939";
    finding.last_byte = 7;
    finding.includes_identifier = true;
    finding.name = four_bits ? "SAE J1939-71 message checksum, four-bit form (SPN 3188)"
                             : "SAE J1939-71 message checksum (SPN 4207)";
    return finding;
  }
  return {};
}

}  // namespace foundling
