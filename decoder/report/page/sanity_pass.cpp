#include "decoder/report/page/sanity_pass.h"

#include <algorithm>
#include <cstring>
#include <functional>
#include <queue>

#include "decoder/report/page/bit_owners.h"
#include "schemas/values/payload_id.h"

namespace foundling {
namespace {

struct Next {  // the next frame of a message
  std::int64_t t_ns = 0;
  std::size_t message = 0;
  std::size_t row = 0;
  bool operator>(const Next& other) const {
    return t_ns != other.t_ns ? t_ns > other.t_ns : message > other.message;
  }
};

// Also for the payloads that its frames carry, which are put together from them again.
bool is_named(const SignalMap& map, const MessageSeries& message) {
  return !is_payload(message.id) &&
         std::ranges::any_of(map.messages, [&message](const MessageEntry& entry) {
           return entry.bus == message.bus && frames_of(entry.id) == message.id;
         });
}

// Frames of all messages in order of time, until there are none.
class Merged {
 public:
  // Messages that the map does not name are left out: there is nothing to hold them against.
  Merged(std::span<const MessageSeries> messages, const SignalMap& map) : messages_(messages) {
    for (std::size_t i = 0; i < messages.size(); ++i) {
      if (is_named(map, messages[i])) push({0, i, 0});
    }
  }
  [[nodiscard]] bool more() const { return !queue_.empty(); }

  // Stands until the next call.
  const Frame& take() {
    const Next next = queue_.top();
    queue_.pop();
    const MessageSeries& message = messages_[next.message];
    frame_.t_ns = next.t_ns;
    frame_.bus = message.bus;
    frame_.id = message.id;
    frame_.length = message.lengths.empty() ? message.length : message.lengths[next.row];
    std::memcpy(frame_.payload.data(), message.row(next.row).data(),
                std::min<std::size_t>(frame_.length, frame_.payload.size()));
    push({0, next.message, next.row + 1});
    return frame_;
  }

 private:
  void push(Next next) {
    const MessageSeries& message = messages_[next.message];
    if (next.row >= message.size()) return;
    next.t_ns = message.t_ns[next.row];
    queue_.push(next);
  }

  std::span<const MessageSeries> messages_;
  std::priority_queue<Next, std::vector<Next>, std::greater<>> queue_;
  Frame frame_;
};

}  // namespace

std::vector<SanityCheck> watch_session(const SignalMap& map,
                                       std::span<const MessageSeries> messages,
                                       std::span<const LostStretch> lost) {
  if (map.messages.empty()) return {};
  std::vector<std::int64_t> gap_ends;
  for (const LostStretch& gap : lost) gap_ends.push_back(gap.to_ns);
  std::ranges::sort(gap_ends);
  Decoder decoder(map);
  SanityWatch watch(map, decoder.fields());
  Merged frames(messages, map);
  auto gap = gap_ends.begin();
  while (frames.more()) {
    const Frame& frame = frames.take();
    for (; gap != gap_ends.end() && *gap <= frame.t_ns; ++gap) watch.forget_counters();
    watch.see(frame, decoder.decode(frame));
  }
  return watch.checks();
}

}  // namespace foundling
