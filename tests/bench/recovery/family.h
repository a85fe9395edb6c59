// The families of boards: what is special about each. The undisturbed ones are boards that work,
// and a hand that is on time; in the others something goes wrong.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "tests/bench/recovery/rng.h"

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
  // disturbed by the board
  startup_codes,  // no measurement in the first seconds
  bursts,         // 'not available' or zeros for moments, several times
  dropout,        // a code inside the valid range, or the last value, for long
  reset,          // silent in the middle, then start-up codes again, counters anew
  brown_out,      // zeros or ones on all messages at once, for seconds
  // disturbed by the hand
  late_hand,  // every typed reading late by its own 0 to 5 s
  very_late,  // the same, one in ten by -0.5 to 20 s
  prompted,   // late, but the moment of the prompt is known
  slips_3,    // 3 % of the readings wrong
  slips_10,   // 10 % wrong
  swapped,    // two channels' names swapped for two minutes
  // poor sessions
  five_levels,  // five levels a channel
  staircase,    // levels that only rise or only fall, over drifts; half are not sent
  foreign,      // readings of another session, or moved by 7 to 45 s: nothing is right
  absent,       // settings, switches and instruments' readings that the board does not send
};

[[nodiscard]] const std::vector<Family>& all_families();
[[nodiscard]] const std::vector<Family>& undisturbed_families();
[[nodiscard]] bool is_disturbed(Family family);
[[nodiscard]] std::string_view name_of(Family family);
[[nodiscard]] std::optional<Family> family_named(std::string_view name);

// The undisturbed family that a board is drawn from; of a disturbed one, one of several.
[[nodiscard]] Family base_of(Family family, Rng& rng);

}  // namespace foundling::recovery
