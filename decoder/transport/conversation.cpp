#include "decoder/transport/conversation.h"

#include <algorithm>
#include <tuple>

#include "schemas/values/payload_id.h"

namespace foundling {
namespace {

constexpr std::int64_t longest_wait_ns = 5'000'000'000;  // P2* of ISO 14229-2
constexpr std::uint8_t refusal = 0x7F;
constexpr std::uint8_t answer_later = 0x78;
constexpr std::uint64_t least_answers = 3;  // two might be luck

std::span<const std::uint8_t> payload(const MessageSeries& message, std::size_t i) {
  return message.row(i).first(message.lengths.empty() ? message.length : message.lengths[i]);
}

bool is_request(std::span<const std::uint8_t> bytes) {
  return !bytes.empty() && (bytes[0] & 0x40U) == 0 && identifier_bytes_of(bytes).has_value();
}

double median_period(const std::vector<std::int64_t>& t_ns) {
  if (t_ns.size() < 2) return 0;
  std::vector<std::int64_t> gaps;
  for (std::size_t i = 1; i < t_ns.size(); ++i) gaps.push_back(t_ns[i] - t_ns[i - 1]);
  const auto middle = gaps.begin() + static_cast<std::ptrdiff_t>(gaps.size() / 2);
  std::nth_element(gaps.begin(), middle, gaps.end());
  return static_cast<double>(*middle) * 1e-9;
}

// Each request meets the first payload of the other side that answers it before the next request.
Conversation between(const MessageSeries& asks, const MessageSeries& replies) {
  Conversation found{asks.bus, asks.id, replies.id, 0, 0, 0, {}, 0};
  std::vector<std::int64_t> asked;
  std::size_t at = 0;
  for (std::size_t i = 0; i < asks.size(); ++i) {
    if (!is_request(payload(asks, i))) continue;
    ++found.requests;
    asked.push_back(asks.t_ns[i]);
    const std::int64_t end = std::min(asks.t_ns[i] + longest_wait_ns,
                                      i + 1 < asks.size() ? asks.t_ns[i + 1] : INT64_MAX);
    while (at < replies.size() && replies.t_ns[at] < asks.t_ns[i]) ++at;
    bool done = false;
    for (; !done && at < replies.size() && replies.t_ns[at] < end; ++at) {
      const auto bytes = payload(replies, at);
      if (!answers(payload(asks, i), bytes)) continue;
      if (bytes[0] != refusal) {
        ++found.answered;
      } else {
        ++found.refused[bytes[2]];
        if (bytes[2] == answer_later) continue;
      }
      done = true;
    }
    if (!done) ++found.unanswered;
  }
  found.period_s = median_period(asked);
  return found;
}

}  // namespace

std::optional<std::size_t> identifier_bytes_of(std::span<const std::uint8_t> payload) {
  if (payload.empty()) return {};
  const auto service = static_cast<std::uint8_t>(payload[0] & 0xBFU);
  const std::size_t bytes = service == 0x22 || service == 0x24 ? 2 : service == 0x21 ? 1 : 0;
  if (bytes == 0 || payload.size() < 1 + bytes) return {};
  return bytes;
}

std::optional<Span> data_selector(const MessageSeries& payloads) {
  std::size_t reads[3] = {0, 0, 0};  // by identifier bytes
  std::size_t refusals = 0;
  for (std::size_t i = 0; i < payloads.size(); ++i) {
    const auto bytes = payload(payloads, i);
    refusals += bytes.size() == 3 && bytes[0] == refusal ? 1U : 0U;
    const auto said = identifier_bytes_of(bytes);
    if (said) ++reads[*said];
  }
  const std::size_t most = reads[2] >= reads[1] ? 2 : 1;
  // Other services (session, tester present) are asked for between the reads.
  if (reads[most] == 0 || (reads[most] + refusals) * 10 < payloads.size() * 8) return {};
  return Span{{0, 7}, {static_cast<std::uint8_t>(most), 0}};
}

bool answers(std::span<const std::uint8_t> request, std::span<const std::uint8_t> payload) {
  const auto said = identifier_bytes_of(request);
  if (!said || payload.empty() || (request[0] & 0x40U) != 0) return false;
  if (payload[0] == refusal) return payload.size() == 3 && payload[1] == request[0];
  return payload[0] == request[0] + 0x40 && payload.size() > *said &&
         std::equal(request.begin() + 1, request.begin() + 1 + static_cast<std::ptrdiff_t>(*said),
                    payload.begin() + 1);
}

std::vector<Conversation> conversations(std::span<const MessageSeries> messages) {
  std::vector<Conversation> found;
  for (const MessageSeries& asks : messages) {
    if (!is_payload(asks.id) || asks.size() == 0) continue;
    for (const MessageSeries& replies : messages) {
      if (&asks == &replies || !is_payload(replies.id) || replies.bus != asks.bus) continue;
      Conversation pair = between(asks, replies);
      std::uint64_t answered = pair.answered;
      for (const auto& [code, times] : pair.refused) answered += times;
      if (answered >= least_answers && answered * 2 >= pair.requests) {
        found.push_back(std::move(pair));
      }
    }
  }
  return found;
}

}  // namespace foundling
