#include "decoder/analysis/observed_session.h"

#include <algorithm>
#include <set>

#include "decoder/analysis/in_parallel.h"
#include "decoder/analysis/observation_priors.h"
#include "decoder/analysis/substitute_pattern.h"

namespace foundling {
namespace {

struct Seen {
  std::optional<RoughField> field;
  CleanedChannel cleaned;
};

Seen see(std::span<const Stream> streams, const ChannelSeries& channel, std::int64_t end_ns) {
  Seen seen{{}, {channel, channel, false, {}, {}}};
  if (channel.channel.is_state()) return seen;
  const auto fields = rough_fields(streams, channel, end_ns);
  if (fields.empty()) return seen;
  seen.field = without_noise_bits(fields.front(), streams[fields.front().stream]);
  seen.cleaned = clean_channel(streams[seen.field->stream], channel, *seen.field);
  return seen;
}

// The frames of a message that fall into a substitute, on its page only where it has one: a page
// without a value does not spoil the others.
void leave_out(const MessageSeries& message, const Stream& stream, const Substitute& substitute,
               LeftOut& out) {
  const auto first = std::lower_bound(message.t_ns.begin(), message.t_ns.end(), substitute.from_ns);
  if (out.empty()) out.assign(message.size(), false);
  for (auto i = static_cast<std::size_t>(first - message.t_ns.begin());
       i < message.size() && message.t_ns[i] <= substitute.to_ns; ++i) {
    if (stream.page && extract(stream.page->span, message.row(i)) != stream.page->value) continue;
    out[i] = true;
  }
}

// What lasts for more than that share of a message's frames is no substitute.
bool is_too_much(const LeftOut& out) {
  const auto count = std::count(out.begin(), out.end(), true);
  return static_cast<double>(count) > most_left_out * static_cast<double>(out.size());
}

// Adds to `left_out` what the channels tell; whether anything came in.
bool add_left_out(std::span<const MessageSeries> messages, std::span<const Stream> streams,
                  const std::vector<Seen>& all, std::vector<LeftOut>& left_out) {
  std::vector<LeftOut> now = left_out;
  for (const Seen& seen : all) {
    if (!seen.field) continue;
    const Stream& stream = streams[seen.field->stream];
    for (const Substitute& s : seen.cleaned.substitutes) {
      leave_out(messages[stream.message], stream, s, now[stream.message]);
    }
    std::set<std::uint64_t> codes;
    for (const Substitute& s : seen.cleaned.substitutes) codes.insert(s.raw);
    for (const std::uint64_t code : codes) {
      leave_out_alike(messages[stream.message], stream, seen.field->span, code,
                      now[stream.message]);
    }
  }
  bool more = false;
  for (std::size_t m = 0; m < now.size(); ++m) {
    if (now[m] == left_out[m] || is_too_much(now[m])) continue;
    left_out[m] = std::move(now[m]);
    more = true;
  }
  return more;
}

}  // namespace

ObservedSession observe_session(std::span<const MessageSeries> messages,
                                std::span<const ChannelSeries> channels, const Survey& survey,
                                std::int64_t end_ns) {
  ObservedSession out;
  out.left_out.resize(messages.size());
  out.streams = make_streams(messages, survey);
  std::vector<Seen> seen(channels.size());
  std::vector<std::vector<Substitute>> substitutes(channels.size());
  // A second look finds what the first one's substitutes had hidden.
  for (int look = 0; look < 2; ++look) {
    in_parallel(channels.size(),
                [&](std::size_t i) { seen[i] = see(out.streams, channels[i], end_ns); });
    for (std::size_t i = 0; i < seen.size(); ++i) {
      const auto& found = seen[i].cleaned.substitutes;
      substitutes[i].insert(substitutes[i].end(), found.begin(), found.end());
    }
    if (!add_left_out(messages, out.streams, seen, out.left_out)) break;
    out.streams = make_streams(messages, survey, out.left_out);
  }
  for (std::size_t i = 0; i < seen.size(); ++i) {
    Seen& one = seen[i];
    one.cleaned.substitutes = std::move(substitutes[i]);
    out.channels.push_back(one.cleaned.series);
    out.repaired.push_back(one.cleaned.repaired);
    out.rough.push_back(one.field);
    out.cleaned.push_back(std::move(one.cleaned));
  }
  return out;
}

}  // namespace foundling
