#include "decoder/transport/payloads.h"

#include <algorithm>
#include <array>
#include <tuple>
#include <utility>

#include "decoder/transport/conversation.h"

namespace foundling {
namespace {

constexpr std::size_t most_addresses = 8;  // nodes behind one identifier (chosen)

std::span<const std::uint8_t> frame_of(const MessageSeries& message, std::size_t i) {
  return message.row(i).first(message.lengths.empty() ? message.length : message.lengths[i]);
}

CarriedPayloads carried(const MessageSeries& message, Transport transport) {
  CarriedPayloads found;
  found.series.bus = message.bus;
  found.series.id = payload_id(message.id, transport);
  SegmentReader reader(transport);
  std::vector<std::vector<std::uint8_t>> rows;
  for (std::size_t i = 0; i < message.size(); ++i) {
    const auto whole = reader.take(message.t_ns[i], frame_of(message, i));
    if (!whole) continue;
    found.series.t_ns.push_back(message.t_ns[i]);
    rows.emplace_back(whole->begin(), whole->end());
    found.series.length = std::max(found.series.length, static_cast<std::uint8_t>(whole->size()));
  }
  found.counts = reader.counts();
  found.series.bytes.reserve(rows.size() * found.series.length);
  for (auto& row : rows) {
    found.series.lengths.push_back(static_cast<std::uint8_t>(row.size()));
    row.resize(found.series.length);
    found.series.bytes.insert(found.series.bytes.end(), row.begin(), row.end());
  }
  const auto& lengths = found.series.lengths;
  if (std::adjacent_find(lengths.begin(), lengths.end(), std::not_equal_to<>()) == lengths.end()) {
    found.series.lengths.clear();
  }
  return found;
}

// Nineteen frames of twenty are of its forms: by chance a byte in sixteen begins a form.
bool fits(const SegmentCounts& counts) {
  return counts.frames > 0 && counts.fitting * 20 >= counts.frames * 19;
}

// The addresses of a message whose first byte takes few values.
std::vector<std::uint8_t> addresses_of(const MessageSeries& message) {
  std::array<bool, 256> seen{};
  std::vector<std::uint8_t> addresses;
  for (std::size_t i = 0; i < message.size(); ++i) {
    const std::uint8_t byte = message.row(i)[0];
    if (std::exchange(seen[byte], true)) continue;
    addresses.push_back(byte);
    if (addresses.size() > most_addresses) return {};
  }
  return addresses;
}

// Cheap: whether the first frames could be of its forms at all, `at` bytes in.
bool begins_like_segments(const MessageSeries& message, std::size_t at) {
  const std::size_t looked_at = std::min<std::size_t>(message.size(), 64);
  std::size_t fitting = 0;
  for (std::size_t i = 0; i < looked_at; ++i) {
    const auto frame = frame_of(message, i);
    if (frame.size() <= at) continue;
    const unsigned low = frame[at] & 0x0FU;
    switch (frame[at] >> 4U) {
      case 0:
        fitting += low + at < frame.size() && (low > 0 || frame.size() > 8) ? 1U : 0U;
        break;
      case 1:
      case 2:
      case 3:
        ++fitting;
        break;
      default:
        break;
    }
  }
  return fitting * 4 >= looked_at * 3;
}

// What is sure by itself, and what needs an answer to be.
struct Candidates {
  std::vector<CarriedPayloads> sure;
  std::vector<CarriedPayloads> unsure;
};

void add_addressed(const MessageSeries& message, Candidates& found) {
  if (!begins_like_segments(message, 1)) return;
  std::vector<CarriedPayloads> all;
  bool segmented = false;
  for (const std::uint8_t address : addresses_of(message)) {
    all.push_back(carried(message, {Transport::Kind::addressed_segments, address}));
    if (!fits(all.back().counts)) return;
    segmented = segmented || all.back().counts.segmented > 0;
  }
  auto& list = segmented ? found.sure : found.unsure;
  for (CarriedPayloads& one : all) {
    if (one.series.size() > 0) list.push_back(std::move(one));
  }
}

Candidates candidates(std::span<const MessageSeries> messages) {
  Candidates found;
  for (const MessageSeries& message : messages) {
    if (is_payload(message.id) || message.length < 3 || message.size() < 2) continue;
    const std::size_t before = found.sure.size();
    if (begins_like_segments(message, 0)) {
      CarriedPayloads plain = carried(message, {Transport::Kind::segments, 0});
      if (fits(plain.counts) && plain.series.size() > 0) {
        (plain.counts.segmented > 0 ? found.sure : found.unsure).push_back(std::move(plain));
      }
    }
    if (found.sure.size() == before) add_addressed(message, found);
  }
  return found;
}

// Single frames alone: requests and answers that meet, at least one of the two unsure.
void take_answered(Candidates& found) {
  std::vector<MessageSeries> all;
  for (const auto& one : found.sure) all.push_back(one.series);
  for (const auto& one : found.unsure) {
    if (data_selector(one.series)) all.push_back(one.series);
  }
  const auto pairs = conversations(all);
  for (CarriedPayloads& one : found.unsure) {
    const bool talks = std::any_of(pairs.begin(), pairs.end(), [&](const Conversation& c) {
      return c.bus == one.series.bus && (c.asks == one.series.id || c.replies == one.series.id);
    });
    if (talks) found.sure.push_back(std::move(one));
  }
}

}  // namespace

bool carries_segments(const MessageSeries& message) {
  return !candidates({&message, 1}).sure.empty();
}

std::vector<CarriedPayloads> carried_payloads(std::span<const MessageSeries> messages) {
  Candidates found = candidates(messages);
  take_answered(found);
  std::sort(found.sure.begin(), found.sure.end(), [](const auto& a, const auto& b) {
    return std::tuple(a.series.bus, a.series.id) < std::tuple(b.series.bus, b.series.id);
  });
  return std::move(found.sure);
}

std::vector<MessageSeries> with_payloads(std::vector<MessageSeries> messages) {
  for (CarriedPayloads& one : carried_payloads(messages)) {
    messages.push_back(std::move(one.series));
  }
  std::stable_sort(messages.begin(), messages.end(), [](const auto& a, const auto& b) {
    const auto order = [](const MessageSeries& m) {
      return std::tuple(m.bus, m.id.is_extended(), m.id.number(), m.id.raw);
    };
    return order(a) < order(b);
  });
  return messages;
}

}  // namespace foundling
