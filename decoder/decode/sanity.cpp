#include "decoder/decode/sanity.h"

#include <algorithm>
#include <array>
#include <cstdio>
#include <optional>
#include <unordered_map>
#include <utility>

#include "decoder/decode/sanity_frozen.h"
#include "decoder/decode/sanity_groups.h"
#include "decoder/decode/sanity_protection.h"
#include "schemas/values/payload_id.h"

namespace foundling {
namespace {

constexpr std::int64_t stretch_ns = 10'000'000'000;

std::uint64_t key_of(std::uint8_t bus, CanId id) { return std::uint64_t{bus} << 32U | id.raw; }

std::string message_name(const MessageEntry& message) {
  std::array<char, 32> text{};
  std::snprintf(text.data(), text.size(), message.id.is_extended() ? "%08X" : "%03X",
                message.id.number());
  std::string name = text.data();
  if (message.bus != 0) name += " bus " + std::to_string(message.bus);
  return name;
}

struct MessageWatch {
  std::vector<CounterWatch> counters;
  std::vector<ChecksumWatch> checksums;
};

}  // namespace

struct SanityWatch::State {
  std::span<const Field> fields;
  std::vector<GroupWatch> groups;
  std::vector<ValueRange> ranges;  // of every field in this stretch
  std::optional<std::int64_t> from_ns;
  std::vector<MessageWatch> messages;  // as in the map
  std::unordered_map<std::uint64_t, std::size_t> by_id;
  FrozenWatch frozen;

  State(const SignalMap& map, std::span<const Field> all, std::span<const SanityGroup> found)
      : fields(all), ranges(all.size()), frozen(map, all, found) {
    for (const SanityGroup& group : found) groups.emplace_back(group, map, all);
    for (const MessageEntry& message : map.messages) {
      MessageWatch watch;
      const std::string name = message_name(message);
      // Of payloads nothing is watched: the frames have only segments of them.
      if (is_payload(message.id)) {
        messages.push_back(std::move(watch));
        continue;
      }
      for (const Counter& counter : message.counters) {
        watch.counters.emplace_back(counter, name + " counter " + to_string(counter.span));
      }
      for (const Checksum& sum : message.checksums) {
        watch.checksums.emplace_back(sum, message.id,
                                     name + ' ' + sum.kind + ' ' + to_string(sum.span));
      }
      by_id.emplace(key_of(message.bus, message.id), messages.size());
      messages.push_back(std::move(watch));
    }
  }

  // Its values tell the message without a look-up.
  MessageWatch* message_of(const Frame& frame, std::span<const DecodedValue> values) {
    if (!values.empty()) return &messages[fields[values.front().field].message];
    const auto at = by_id.find(key_of(frame.bus, frame.id));
    return at == by_id.end() ? nullptr : &messages[at->second];
  }

  // A stretch ends with the first value behind it; what a silent bus leaves open is not judged.
  void move_to(std::int64_t t_ns) {
    if (!from_ns || t_ns < *from_ns) from_ns = t_ns;
    if (t_ns - *from_ns < stretch_ns) return;
    if (t_ns - *from_ns < 2 * stretch_ns) {
      for (GroupWatch& group : groups) group.close_stretch(ranges, *from_ns, t_ns);
    }
    std::ranges::fill(ranges, ValueRange{});
    from_ns = t_ns;
  }
};

std::string_view to_string(SanityKind kind) {
  switch (kind) {
    case SanityKind::sum_of_cells:
      return "sum-of-cells";
    case SanityKind::least_of_cells:
      return "least-of-cells";
    case SanityKind::largest_of_cells:
      return "largest-of-cells";
    case SanityKind::frozen:
      return "frozen";
    case SanityKind::checksum:
      return "checksum";
    case SanityKind::counter:
      break;
  }
  return "counter";
}

SanityWatch::SanityWatch(const SignalMap& map, std::span<const Field> fields)
    : state_(std::make_unique<State>(map, fields, sanity_groups(map, fields))) {}
SanityWatch::SanityWatch(SanityWatch&&) noexcept = default;
SanityWatch& SanityWatch::operator=(SanityWatch&&) noexcept = default;
SanityWatch::~SanityWatch() = default;

void SanityWatch::see(const Frame& frame, std::span<const DecodedValue> values) {
  State& state = *state_;
  if (MessageWatch* message = state.message_of(frame, values); message != nullptr) {
    for (CounterWatch& counter : message->counters) counter.see(frame);
    for (ChecksumWatch& sum : message->checksums) sum.see(frame);
  }
  if (values.empty()) return;
  state.move_to(frame.t_ns);
  for (const DecodedValue& value : values) {
    if (value.kind != ValueKind::number) continue;
    state.ranges[value.field].take(value.number);
    state.frozen.see(value);
  }
}

void SanityWatch::forget_counters() {
  for (MessageWatch& message : state_->messages) {
    for (CounterWatch& counter : message.counters) counter.forget();
  }
}

std::vector<SanityCheck> SanityWatch::checks() const {
  std::vector<SanityCheck> all;
  for (const GroupWatch& group : state_->groups) {
    for (SanityCheck& check : group.checks()) all.push_back(std::move(check));
  }
  for (SanityCheck& check : state_->frozen.checks(state_->fields)) all.push_back(std::move(check));
  for (const MessageWatch& message : state_->messages) {
    for (const CounterWatch& counter : message.counters) {
      if (auto check = counter.check()) all.push_back(std::move(*check));
    }
    for (const ChecksumWatch& sum : message.checksums) {
      if (auto check = sum.check()) all.push_back(std::move(*check));
    }
  }
  std::stable_partition(all.begin(), all.end(),
                        [](const SanityCheck& check) { return check.failed > 0; });
  return all;
}

}  // namespace foundling
