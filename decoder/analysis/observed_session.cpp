#include "decoder/analysis/observed_session.h"

#include <algorithm>
#include <set>

#include "decoder/analysis/in_parallel.h"
#include "decoder/analysis/observation_priors.h"
#include "decoder/analysis/substitute_pattern.h"
#include "decoder/analysis/whole_top.h"

namespace foundling {
namespace {

struct Substitutes {
  std::size_t stream = 0;
  Span field;
  std::vector<Substitute> found;
};

struct Seen {
  std::optional<RoughField> field;
  CleanedChannel cleaned;
  std::vector<Substitutes> elsewhere;  // of other fields that follow the channel
};

// Cleans the channel by a field, read with all upper bits that move with the channel.
CleanedChannel clean_by(const Stream& stream, const ChannelSeries& channel, std::int64_t end_ns,
                        RoughField& field) {
  field = with_upper_bits(field, stream, channel, end_ns);
  field = without_noise_bits(field, stream);
  return clean_channel(stream, channel, field);
}

// A field that follows the channel nearly as well as its own may be one more copy of it, and stand
// for no value at other times.
bool may_be_a_copy(const RoughField& field) {
  return field.r2 >= rough_certain_r2 && field.agree >= least_agreement * field.plateaus;
}

std::set<std::uint64_t> codes_of(const std::vector<Substitute>& found) {
  std::set<std::uint64_t> codes;
  for (const Substitute& s : found) codes.insert(s.raw);
  return codes;
}

Seen see(std::span<const Stream> streams, const ChannelSeries& channel, std::int64_t end_ns) {
  Seen seen{{}, {channel, channel, false, {}, {}}, {}};
  if (channel.channel.is_state()) return seen;
  auto fields = rough_fields(streams, channel, end_ns);
  if (fields.empty()) return seen;
  seen.cleaned = clean_by(streams[fields.front().stream], channel, end_ns, fields.front());
  seen.field = fields.front();
  for (std::size_t i = 1; i < fields.size(); ++i) {
    if (!may_be_a_copy(fields[i])) continue;
    auto cleaned = clean_by(streams[fields[i].stream], channel, end_ns, fields[i]);
    if (codes_of(cleaned.substitutes).size() > most_substitute_codes) continue;
    seen.elsewhere.push_back({fields[i].stream, fields[i].span, std::move(cleaned.substitutes)});
  }
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
  const auto add = [&](std::size_t of, const Span& field, const std::vector<Substitute>& found) {
    const Stream& stream = streams[of];
    for (const Substitute& s : found) {
      leave_out(messages[stream.message], stream, s, now[stream.message]);
    }
    for (const std::uint64_t code : codes_of(found)) {
      leave_out_alike(messages[stream.message], stream, field, code, now[stream.message]);
    }
  };
  for (const Seen& seen : all) {
    if (seen.field) add(seen.field->stream, seen.field->span, seen.cleaned.substitutes);
    for (const Substitutes& s : seen.elsewhere) add(s.stream, s.field, s.found);
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
