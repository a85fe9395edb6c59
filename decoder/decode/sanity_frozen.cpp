#include "decoder/decode/sanity_frozen.h"

#include <algorithm>
#include <array>
#include <cstdio>

namespace foundling {
namespace {

constexpr std::uint64_t least_changes = 50;
constexpr std::int64_t least_still_ns = 30'000'000'000;
constexpr std::int64_t times_longer = 10;
// A still signal is held against its family again when it has been still for 3 % longer: a family
// may have 16,384 members, and a frame values of many of them.
constexpr std::int64_t looks_a_stretch = 32;

}  // namespace

FrozenWatch::FrozenWatch(const SignalMap& map, std::span<const Field> fields,
                         std::span<const SanityGroup> groups)
    : signals_(fields.size()), checks_(fields.size()), families_(map.messages.size()) {
  for (std::size_t i = 0; i < fields.size(); ++i) {
    checks_[i].kind = SanityKind::frozen;
    checks_[i].subject = fields[i].name;
    checks_[i].unit.assign(1, 's');  // g++ 12 warns wrongly of "s"
    signals_[i].family = fields[i].message;
    const bool numeric = map.messages[fields[i].message].signals[fields[i].entry].states.empty();
    if (numeric) families_[fields[i].message].push_back(i);
  }
  for (const SanityGroup& group : groups) {
    for (const std::size_t member : group.members) signals_[member].family = families_.size();
    families_.push_back(group.members);
  }
}

// At least half of what is like it changed in the younger half of the still stretch. It is a member
// of its family itself, and has not changed since.
bool FrozenWatch::is_frozen(Signal& signal, const DecodedValue& value) const {
  const std::int64_t still_ns = value.t_ns - signal.since_ns;
  if (signal.changes < least_changes || value.number == 0 || still_ns < least_still_ns ||
      still_ns / times_longer < signal.longest_ns || value.t_ns < signal.look_again_ns) {
    return false;
  }
  const std::vector<std::size_t>& family = families_[signal.family];
  const auto moving = std::ranges::count_if(family, [&](std::size_t other) {
    return signals_[other].changes > 0 && signals_[other].since_ns > value.t_ns - still_ns / 2;
  });
  signal.look_again_ns = value.t_ns + still_ns / looks_a_stretch;
  return 2 * static_cast<std::size_t>(moving) + 1 >= family.size();
}

void FrozenWatch::note(std::size_t field, std::int64_t t_ns) {
  Signal& signal = signals_[field];
  SanityCheck& check = checks_[field];
  if (!signal.frozen) {
    if (check.failed++ == 0) check.first_ns = signal.since_ns;
    signal.frozen = true;
  }
  check.last_ns = t_ns;
  check.worst = std::max(check.worst, static_cast<double>(t_ns - signal.since_ns) / 1e9);
}

void FrozenWatch::see(const DecodedValue& value) {
  if (value.kind != ValueKind::number) return;
  Signal& signal = signals_[value.field];
  if (signal.started && value.raw == signal.raw) {
    if (signal.frozen ||
        (value.t_ns - signal.since_ns >= least_still_ns && is_frozen(signal, value))) {
      note(value.field, value.t_ns);
    }
    return;
  }
  if (signal.started) {
    // What follows a frozen stretch is judged by how the signal moved before it.
    if (!signal.frozen) {
      signal.longest_ns = std::max(signal.longest_ns, value.t_ns - signal.since_ns);
    }
    ++signal.changes;
  }
  signal.started = true;
  signal.frozen = false;
  signal.raw = value.raw;
  signal.since_ns = value.t_ns;
  signal.look_again_ns = value.t_ns;
}

std::vector<SanityCheck> FrozenWatch::checks(std::span<const Field> fields) const {
  std::vector<SanityCheck> all;
  SanityCheck none;
  none.kind = SanityKind::frozen;
  for (std::size_t i = 0; i < fields.size(); ++i) {
    const Signal& signal = signals_[i];
    none.looked += signal.changes >= least_changes ? 1U : 0U;
    if (checks_[i].failed == 0) continue;
    SanityCheck check = checks_[i];
    check.looked = 1;
    check.failing_now = signal.frozen;
    std::array<char, 96> text{};
    std::snprintf(text.data(), text.size(),
                  "did not change for %.0f s; before, never longer than %.1f s", check.worst,
                  static_cast<double>(signal.longest_ns) / 1e9);
    check.text = text.data();
    all.push_back(std::move(check));
  }
  if (all.empty() && none.looked > 0) {
    none.subject = "moving signals";
    none.text = "none froze";
    all.push_back(std::move(none));
  }
  return all;
}

}  // namespace foundling
