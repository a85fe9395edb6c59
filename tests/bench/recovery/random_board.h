// Random boards for the recovery bench: a bus recording, bench readings and the truth behind them,
// all from a family and a seed. All of it is invented. Shares nothing with the demo board.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string_view>
#include <vector>

#include "schemas/values/frame.h"
#include "schemas/values/reading.h"
#include "tests/bench/recovery/truth.h"

namespace foundling::recovery {

enum class Family : std::uint8_t {
  plain_big,     // plain big-endian
  plain_little,  // little-endian, signed current
  paged,         // 100 cells and more behind a selector, few of them moved singly
  packed,        // odd widths, unaligned
  j1939,         // 29-bit identifiers, reserved codes at start-up
  fd,            // 28 cells in one CAN FD frame
  sluggish,      // time constant 1.5 s, few levels, several LSB of noise
  confounded,    // sets of channels that always moved together
  no_signal,     // channels that the board does not send, among slow decoys
  clock_off,     // the stimulus clock is off by seconds and drifts
  states,        // switches, modes and state machines
  imperfect,     // gain and zero errors, saturation, float32, 24 bits
  sleepy,        // 1 Hz and event-driven messages
  curved,        // thermistors, resistances and flows sent as the converter reads them
};

struct RandomBoard {
  std::vector<MessageSeries> messages;  // by bus, then standard before extended, then number
  std::vector<ChannelSeries> channels;
  Truth truth;
};

[[nodiscard]] RandomBoard make_board(Family family, std::uint64_t seed);

struct Session;
struct Plan;
struct Recipe;

// The board of that family and seed, in another session: `replan` sees the first one and says what
// is set when (play_again in session.h).
using Replan = std::function<Plan(const Session&, const Recipe&)>;
[[nodiscard]] RandomBoard make_board(Family family, std::uint64_t seed, const Replan& replan);

[[nodiscard]] const std::vector<Family>& all_families();
[[nodiscard]] std::string_view name_of(Family family);
[[nodiscard]] std::optional<Family> family_named(std::string_view name);

}  // namespace foundling::recovery
