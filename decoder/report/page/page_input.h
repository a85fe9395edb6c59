// What the page is made from: the results of the other steps, and what the capture says of itself,
// as plain values. Everything referred to must outlive the making of the page.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "decoder/against/against.h"
#include "decoder/analysis/proposal.h"
#include "decoder/analysis/survey.h"
#include "decoder/decode/check.h"
#include "schemas/signals/signal_map.h"
#include "schemas/values/frame.h"
#include "schemas/values/reading.h"

namespace foundling {

struct PageSource {     // the session that the page is about
  std::string capture;  // file name, without the folders of this machine
  std::int64_t session = 1;
  std::string started;  // a date for a person; empty: unknown
  std::string pack, board, note, interface;
  std::int64_t bit_rate = 0;  // bit/s; 0 unknown
  std::int64_t from_ns = 0;   // first frame or reading
  std::int64_t to_ns = 0;     // last frame
  bool ended = true;          // false: still recorded, or cut off
};

struct LostStretch {  // a gap in the recording
  std::int64_t from_ns = 0, to_ns = 0;
  std::uint8_t bus = 0;
  std::uint64_t frames = 0;  // 0: nobody could count them
  std::string why;
};

struct BusIncident {  // an error frame, a change of state, ...
  std::int64_t t_ns = 0;
  std::uint8_t bus = 0;
  std::string kind, detail;
};

struct PageCheck {
  std::string capture;
  std::int64_t session = 1;
  bool same_session = false;  // as the map was made from: then passing proves nothing
  MapCheck check;
};

struct PageAgainst {  // another recording, compared with this session
  std::string capture;
  std::int64_t session = 1;
  std::int64_t bit_rate = 0;  // bit/s; 0 unknown
  double duration_s = 0;
  Against result;  // A is this session
};

struct PageInput {
  std::string title;
  PageSource source;
  std::span<const MessageSeries> messages;
  std::span<const ChannelSeries> channels;   // readings; none: no stimulus
  const Survey* survey = nullptr;            // of the messages; never null
  const SignalMap* map = nullptr;            // never null; may be empty
  std::string map_name;                      // empty: made from the proposals just now
  const Correlation* correlation = nullptr;  // null: no search was made
  std::vector<LostStretch> lost;
  std::vector<BusIncident> incidents;
  std::optional<PageCheck> check;
  std::optional<PageAgainst> against;
};

}  // namespace foundling
