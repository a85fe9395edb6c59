#include "decoder/report/proposals_fit.h"

#include <algorithm>
#include <optional>

#include "decoder/report/figures.h"

namespace foundling {
namespace {

std::string named(const SearchedSession& session) {
  return session.capture + " session " + std::to_string(session.session);
}

std::string counted(const SearchedSession& session) {
  return std::to_string(session.frames) + " frames and " + std::to_string(session.readings) +
         " readings";
}

// What of a proposal the session lacks.
std::optional<std::string> missing(const Proposal& p, std::span<const MessageSeries> messages,
                                   std::span<const ChannelSeries> channels) {
  const auto message = std::ranges::find_if(messages, [&p](const MessageSeries& m) {
    return m.bus == p.place.bus && m.id == p.place.id;
  });
  const std::string id = identifier_text(p.place.id);
  if (message == messages.end()) {
    return "no message " + id + " on bus " + std::to_string(p.place.bus);
  }
  const int last =
      std::max(p.place.span.last_byte(), p.place.page ? p.place.page->span.last_byte() : 0);
  if (last >= static_cast<int>(message->length)) {
    return "no byte " + std::to_string(last) + " in message " + id + ", which has " +
           std::to_string(message->length);
  }
  // Derived channels and members of a series that were never moved were nobody's reading.
  if (p.derived || p.inferred) return {};
  const auto channel = std::ranges::find_if(
      channels, [&p](const ChannelSeries& c) { return c.channel.name == p.channel; });
  if (channel == channels.end()) return "no readings of " + p.channel;
  if (channel->channel.unit == p.unit) return {};
  return p.channel + " in " + channel->channel.unit + ", not in " + p.unit;
}

}  // namespace

SearchedSession searched_session(const std::string& capture, std::int64_t session,
                                 std::span<const MessageSeries> messages,
                                 std::span<const ChannelSeries> channels) {
  SearchedSession out{capture, session};
  for (const MessageSeries& message : messages) out.frames += message.size();
  for (const ChannelSeries& channel : channels) out.readings += channel.readings.size();
  return out;
}

Result<void> check_proposals_fit(const Correlation& correlation, const SearchedSession& session,
                                 std::span<const MessageSeries> messages,
                                 std::span<const ChannelSeries> channels, const std::string& name) {
  for (std::size_t i = 0; i < correlation.proposals.size(); ++i) {
    const auto lack = missing(correlation.proposals[i], messages, channels);
    if (!lack) continue;
    std::string text = name + ": proposals[" + std::to_string(i) +
                       "]: proposals of another recording: " + named(session) + " has " + *lack;
    if (correlation.source && !(*correlation.source == session)) {
      text += "; these were found in " + named(*correlation.source);
    }
    return Error{ErrorCode::format, text};
  }
  return {};
}

std::string other_session(const Correlation& correlation, const SearchedSession& session) {
  const auto& source = correlation.source;
  if (!source || (source->session == session.session && source->frames == session.frames &&
                  source->readings == session.readings)) {
    return {};
  }
  return "the proposals were found in " + counted(*source) + " of " + named(*source) +
         ", and are shown beside " + counted(session) + " of " + named(session);
}

}  // namespace foundling
