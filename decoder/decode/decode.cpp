#include "decoder/decode/decode.h"

#include <algorithm>
#include <cstring>
#include <optional>
#include <utility>
#include <vector>

#include "decoder/decode/field_plan.h"
#include "decoder/transport/segment_reader.h"
#include "schemas/values/payload_id.h"

namespace foundling {
namespace {

std::uint64_t key_of(std::uint8_t bus, CanId id) { return std::uint64_t{bus} << 32U | id.raw; }

// Which message has an identifier: an open table, as a look-up is made for every frame.
class MessageIndex {
 public:
  explicit MessageIndex(std::size_t messages) {
    while (slots_.size() < 2 * messages) {
      slots_.resize(2 * slots_.size());
      --shift_;
    }
  }
  // The first of a key stays.
  void add(std::uint64_t key, std::size_t message) {
    Slot& slot = slots_[place_of(key)];
    if (!slot.used) slot = {key, message, true};
  }
  [[nodiscard]] std::optional<std::size_t> find(std::uint64_t key) const {
    const Slot& slot = slots_[place_of(key)];
    if (!slot.used) return {};
    return slot.message;
  }

 private:
  struct Slot {
    std::uint64_t key = 0;
    std::size_t message = 0;
    bool used = false;
  };
  // Where the key is, or would be. At most half of the slots are used.
  [[nodiscard]] std::size_t place_of(std::uint64_t key) const {
    std::size_t at = (key * 0x9E3779B97F4A7C15U) >> shift_;
    while (slots_[at].used && slots_[at].key != key) at = (at + 1) & (slots_.size() - 1);
    return at;
  }

  std::vector<Slot> slots_ = std::vector<Slot>(2);
  int shift_ = 63;  // 64 less the bits of an index
};

struct PagePlan {
  std::uint64_t value = 0;
  std::vector<FieldPlan> fields;
};

struct SelectorPlan {
  BitsPlan bits;
  std::vector<PagePlan> pages;  // ascending by value
};

struct Carried {  // a message of payloads that another's frames carry
  SegmentReader reader;
  std::size_t message = 0;
};

struct MessagePlan {
  std::vector<FieldPlan> always;
  std::vector<SelectorPlan> selectors;
  std::vector<Carried> carries;
};

SelectorPlan& selector_of(MessagePlan& plan, const Span& span) {
  const auto at = std::ranges::find_if(
      plan.selectors, [&span](const SelectorPlan& s) { return s.bits.span == span; });
  if (at != plan.selectors.end()) return *at;
  return plan.selectors.emplace_back(SelectorPlan{plan_bits(span), {}});
}

std::vector<FieldPlan>& page_of(SelectorPlan& selector, std::uint64_t value) {
  const auto at = std::ranges::lower_bound(selector.pages, value, {}, &PagePlan::value);
  if (at != selector.pages.end() && at->value == value) return at->fields;
  return selector.pages.insert(at, PagePlan{value, {}})->fields;
}

}  // namespace

struct Decoder::State {
  SignalMap map;
  std::vector<Field> fields;
  std::vector<MessagePlan> plans;
  MessageIndex by_id;
  Window frame_window{};
  std::vector<std::uint8_t> long_window;
  std::vector<DecodedValue> values;  // as many as there are fields; the first `count` stand
  std::size_t count = 0;

  explicit State(const SignalMap& all)
      : map(all), plans(map.messages.size()), by_id(2 * plans.size()) {
    for (std::size_t i = 0; i < map.messages.size(); ++i) {
      by_id.add(key_of(map.messages[i].bus, map.messages[i].id), i);
    }
    for (std::size_t i = 0; i < map.messages.size(); ++i) carry(i);
  }

  // Frames that carry payloads have a plan too, whether the map has values of single ones or not.
  void carry(std::size_t message) {
    const MessageEntry& entry = map.messages[message];
    if (!is_payload(entry.id)) return;
    const std::uint64_t key = key_of(entry.bus, frames_of(entry.id));
    if (!by_id.find(key)) {
      by_id.add(key, plans.size());
      plans.emplace_back();
    }
    plans[*by_id.find(key)].carries.push_back({SegmentReader(transport_of(entry.id)), message});
  }

  // `window` has eight bytes more than the payload.
  void apply(const std::vector<FieldPlan>& plans_of_page, WindowBytes window, std::size_t bytes,
             std::int64_t t_ns) {
    for (const FieldPlan& plan : plans_of_page) {
      if (plan.bits.bytes > bytes) continue;
      fill(plan, load(plan.bits, window), t_ns, values[count++]);
    }
  }

  void apply(const MessagePlan& plan, WindowBytes window, std::size_t bytes, std::int64_t t_ns) {
    apply(plan.always, window, bytes, t_ns);
    for (const SelectorPlan& selector : plan.selectors) {
      if (selector.bits.bytes > bytes) continue;
      const std::uint64_t value = load(selector.bits, window);
      const auto page = std::ranges::lower_bound(selector.pages, value, {}, &PagePlan::value);
      if (page != selector.pages.end() && page->value == value) {
        apply(page->fields, window, bytes, t_ns);
      }
    }
  }

  void apply_payload(std::size_t message, std::span<const std::uint8_t> payload,
                     std::int64_t t_ns) {
    const std::size_t bytes = std::min(payload.size(), longest_payload);
    long_window.assign(bytes + 8, 0);
    std::copy_n(payload.begin(), bytes, long_window.begin());
    apply(plans[message], long_window, bytes, t_ns);
  }
};

Decoder::Decoder(const SignalMap& map, const std::function<bool(const Field&)>& wanted)
    : state_(std::make_unique<State>(map)) {
  for (Field& field : fields_of(state_->map)) {
    if (wanted && !wanted(field)) continue;
    MessagePlan& message = state_->plans[field.message];
    std::vector<FieldPlan>& place =
        field.page ? page_of(selector_of(message, field.page->selector), field.page->value)
                   : message.always;
    const auto number = static_cast<std::uint32_t>(state_->fields.size());
    place.push_back(plan_field(field, entry(field), number));
    state_->fields.push_back(std::move(field));
  }
  state_->values.resize(state_->fields.size());
}

Decoder::Decoder(Decoder&&) noexcept = default;
Decoder& Decoder::operator=(Decoder&&) noexcept = default;
Decoder::~Decoder() = default;

std::span<const Field> Decoder::fields() const { return state_->fields; }

const SignalEntry& Decoder::entry(const Field& field) const {
  return state_->map.messages[field.message].signals[field.entry];
}

bool Decoder::knows(std::uint8_t bus, CanId id) const {
  return state_->by_id.find(key_of(bus, id)).has_value();
}

std::span<const DecodedValue> Decoder::decode(const Frame& frame) {
  return decode(frame.bus, frame.id, frame.t_ns, frame.bytes());
}

std::span<const DecodedValue> Decoder::decode(std::uint8_t bus, CanId id, std::int64_t t_ns,
                                              std::span<const std::uint8_t> payload) {
  State& state = *state_;
  const auto message = state.by_id.find(key_of(bus, id));
  if (!message) return {};
  state.count = 0;
  if (is_payload(id)) {
    state.apply_payload(*message, payload, t_ns);
    return {state.values.data(), state.count};
  }
  const std::size_t bytes = std::min(payload.size(), longest_frame);
  if (bytes == 8) {
    std::memcpy(state.frame_window.data(), payload.data(), 8);  // quicker than a copy of any length
  } else {
    std::copy_n(payload.begin(), bytes, state.frame_window.begin());
  }
  MessagePlan& plan = state.plans[*message];
  state.apply(plan, state.frame_window, bytes, t_ns);
  for (Carried& carried : plan.carries) {
    if (const auto whole = carried.reader.take(t_ns, payload)) {
      state.apply_payload(carried.message, *whole, t_ns);
    }
  }
  return {state.values.data(), state.count};
}

}  // namespace foundling
