// Every message: its facts, how often each of its bits moves, and whose they are.
#include <algorithm>
#include <nlohmann/json.hpp>
#include <optional>

#include "decoder/analysis/bit_matrix.h"
#include "decoder/analysis/in_parallel.h"
#include "decoder/report/figures.h"
#include "decoder/report/page/bit_owners.h"
#include "decoder/report/page/bit_picture.h"
#include "decoder/report/page/bus_timeline.h"
#include "decoder/report/page/page_pieces.h"

namespace foundling::page {
namespace {

// Stretches of the small picture of a message's rate: some ten frames in each, else it would show
// no more than how the frames fall into the stretches.
std::size_t pulse_stretches(std::uint64_t frames) {
  return std::clamp<std::size_t>(frames / 10, 1, 96);
}

bool on_page(const BitOwner& owner, const BitPicture& picture) {
  return !owner.page || !picture.page || owner.page->value == *picture.page;
}

Json bits_of(const Span& span) {
  Json bits = Json::array();
  for (int i = span.width() - 1; i >= 0; --i) bits.push_back(bit_index(span.position(i)));
  return bits;
}

Json owner_json(const BitOwner& owner) {
  Json json{{"name", owner.name},
            {"kind", to_string(owner.kind)},
            {"span", to_string(owner.span)},
            {"bits", bits_of(owner.span)}};
  if (owner.page) json["page"] = owner.page->value;
  if (owner.field) json["signal"] = *owner.field;
  return json;
}

Json picture_json(const BitPicture& picture, const std::vector<BitOwner>& owners) {
  std::vector<bool> owned(picture.bits.size());
  for (const BitOwner& owner : owners) {
    if (!on_page(owner, picture)) continue;
    for (int i = 0; i < owner.span.width(); ++i) {
      const auto bit = static_cast<std::size_t>(bit_index(owner.span.position(i)));
      if (bit < owned.size()) owned[bit] = true;
    }
  }
  Json json{{"frames", picture.frames}};
  if (picture.page) json["page"] = *picture.page;
  Json flips = Json::array();
  Json ones = Json::array();
  std::size_t moving = 0;
  std::size_t unexplained = 0;
  for (std::size_t i = 0; i < picture.bits.size(); ++i) {
    flips.push_back(picture.bits[i].flips);
    ones.push_back(picture.bits[i].ones);
    if (picture.bits[i].flips == 0) continue;
    ++moving;
    if (!owned[i]) ++unexplained;
  }
  json["moving"] = moving;
  json["unexplained"] = unexplained;
  json["flips"] = std::move(flips);
  json["ones"] = std::move(ones);
  return json;
}

const MessageSeries* series_of(const PageInput& input, const MessageSurvey& survey) {
  const auto found = std::ranges::find_if(input.messages, [&](const MessageSeries& m) {
    return m.bus == survey.bus && m.id == survey.id;
  });
  return found == input.messages.end() ? nullptr : &*found;
}

Json facts_json(const MessageSurvey& m) {
  return {{"bus", m.bus},
          {"id", identifier_text(m.id)},
          {"extended", m.id.is_extended()},
          {"frames", m.frames},
          {"period_s", figure_json(m.period_s)},
          {"jitter_s", figure_json(m.jitter_s)},
          {"on_events", m.event_driven},
          {"length", m.length},
          {"length_varies", m.length_varies},
          {"transport", m.segmented_transport}};
}

// What takes time: a walk over all frames of a message. Done for all messages on all cores.
struct Counted {
  const MessageSeries* series = nullptr;
  std::vector<BitOwner> owners;
  std::optional<Span> selector;
  MessagePictures pictures;
  std::vector<std::uint64_t> pulse;
};

Counted count(const PageInput& input, const MessageSurvey& m, const std::vector<Field>& fields) {
  Counted out;
  out.series = series_of(input, m);
  if (out.series == nullptr) return out;
  out.owners = owners_of(m, *input.map, fields);
  out.selector = selector_of(m, *input.map, fields);
  out.pictures = picture_bits(*out.series, out.selector);
  out.pulse = frame_counts(*out.series, Grid::over(input.source.from_ns, input.source.to_ns,
                                                   pulse_stretches(out.series->size()), 1));
  return out;
}

Json message_json(const MessageSurvey& m, const Counted& counted) {
  Json json = facts_json(m);
  json["owners"] = Json::array();
  for (const BitOwner& owner : counted.owners) json["owners"].push_back(owner_json(owner));
  if (counted.selector) json["selector"] = to_string(*counted.selector);
  json["too_many_pages"] = counted.pictures.too_many_pages;
  json["pages_left_out"] = counted.pictures.pages_left_out;
  json["pictures"] = Json::array();
  for (const BitPicture& picture : counted.pictures.pages) {
    json["pictures"].push_back(picture_json(picture, counted.owners));
  }
  json["pulse"] = counted.pulse;
  return json;
}

}  // namespace

Json messages_json(const PageInput& input, const std::vector<Field>& fields) {
  const std::vector<MessageSurvey>& messages = input.survey->messages;
  std::vector<Counted> counted(messages.size());
  in_parallel(messages.size(),
              [&](std::size_t i) { counted[i] = count(input, messages[i], fields); });
  Json all = Json::array();
  for (std::size_t i = 0; i < messages.size(); ++i) {
    if (counted[i].series != nullptr) all.push_back(message_json(messages[i], counted[i]));
  }
  return all;
}

}  // namespace foundling::page
