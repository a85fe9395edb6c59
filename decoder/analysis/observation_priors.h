// What the model of an observation takes for granted, all in one place (README.md, "What a frame
// and a reading are"). Each with its origin: derived, cited, or measured by a named command.
#pragma once

#include <cstddef>

namespace foundling {

// --- Where a field may be (rough_field.h)

// Of the row means of a clean subset: a field's top half alone explains 0.94 of a uniform quantity
// (derived: 1 - 1/16); what explains clearly less is not even near.
inline constexpr double rough_r2 = 0.9;
// With this on all plateaus nothing was late or left out by more than 1.5 % of the range's
// variance: no other way of reading is tried (derived from the row windows: 0.985 = 1 - 1/64).
inline constexpr double rough_convincing_r2 = 0.985;
// More than five bits a plateau, -1/2 log2(1 - r2): not even another way of reading is tried.
inline constexpr double rough_certain_r2 = 0.999;
// Eight plateaus at random are all clean with odds 0.8^8 = 0.17 where every fifth is spoilt, slips
// of one in ten twice over: of forty draws one is, with odds 0.999 (derived).
inline constexpr int rough_draws = 40;
inline constexpr std::size_t rough_drawn = 8;
// A line is not known to more than 12 bits at a level: instruments are no better (common practice,
// no source).
inline constexpr double rough_most_bits = 12;
// Of a field's low bit: frames in which it stands otherwise than usual. A bit of it would be so in
// one of sixteen levels, some of them held ten times as long as others (chosen).
inline constexpr double still_bit_share = 0.005;
// A field of six bits has steps of 1/64 of its range; where it moved, tolerances are three of them.
inline constexpr int least_rough_bits = 6;
// Bits to name a plateau that is off the line and say how: one of some hundred readings and one of
// six kinds of slip, or a substitute (derived: log2(100) + log2(6)).
inline constexpr double odd_plateau_bits = 9;

// --- When the board changed (change_times.h)

// A board is behind the bench by this at most: seconds (common practice, no source).
inline constexpr double most_board_lag_s = 5;
// And a hand by this, of which beyond the first five seconds is rare.
inline constexpr double most_lateness_s = 20;
inline constexpr double usual_lateness_s = 5;
// Nats for a beginning before its stamp: as a hand is late about as often as not, and in the second
// case one entry in ten is more than five seconds late (derived: ln 2, and ln 2 + ln 10).
inline constexpr double late_cost = 0.7;
inline constexpr double very_late_cost = 3.0;
// Nats for each second away from what is usual: a plateau of 8 s costs as much as one frame's doubt
// where nothing tells, so it only breaks ties (derived).
inline constexpr double far_from_usual_cost = 0.2;
// Nats for a frame that is neither reading's: three in ten thousand are (derived: -ln 3e-4).
inline constexpr double odd_frame_cost = 8;
// Of plateaus of 10 s a board that follows with a third of a second is a tenth on its way: ln 10.
inline constexpr double way_frame_cost = 2.3;
inline constexpr double unknown_frame_cost = 4;
// A step of that many standard deviations stands out of the noise in a single frame.
inline constexpr double sharp_step = 6;
// More readings than that nobody typed: they come from an instrument, which is not late.
inline constexpr std::size_t most_typed_readings = 500;

// --- What is odd (cleaned_channel.h, substitutes.h)

// A level is contradicted that many standard deviations off the line: one good level in 5e8
// (derived, normal law), so that good readings are not accused.
inline constexpr double odd_level = 6;
// A level is judged by three frames at least: their middle one is not a single odd one.
inline constexpr std::size_t least_frames = 3;
// With more than three in ten contradicted it is the field that is wrong, not the hand: slips of
// one in ten, twice over, and as many substitutes again (derived).
inline constexpr double least_agreement = 0.7;
// What a slow board still lacks of a step in the later half of a plateau, at most (derived:
// exp(-3)).
inline constexpr double unsettled_share = 0.05;
// Within this share of the range a level is at the end of the field (chosen).
inline constexpr double end_share = 0.1;
// Stamps that scatter less than this about the board's changes are a clock's, or a hand's that
// hurries: what the row windows leave out bears them.
inline constexpr double hand_spread_s = 1.0;
inline constexpr double hand_early_s = 0.3;
// A board has a code for no value, and perhaps another one at a start. What is far off with more
// codes is another quantity that goes with the channel for a while (common practice, no source).
inline constexpr std::size_t most_substitute_codes = 2;
// A frame is far off beyond that many standard deviations of the line's levels.
inline constexpr double far_frame = 8;
// Boards' low-passes are this slow at most, seconds (chosen: half as slow again as the slowest of
// the recovery bench, 1.7 s).
inline constexpr double slowest_s = 2.5;
// A code in the valid range stands for no value where it comes so many times and so long in a row
// though it is far off: noise does not repeat itself.
inline constexpr std::size_t least_repeats = 3;
inline constexpr double least_substitute_s = 0.15;
// Frames with a value that have all that substitutes have in common: beyond that share what they
// have in common tells nothing (chosen).
inline constexpr double most_alike = 0.02;
// A pause after which a board has started anew; seconds.
inline constexpr double least_pause_s = 0.25;
// A message without a value for half of its frames shows what a field is no more than it hides it.
inline constexpr double most_left_out = 0.5;
// A moving channel is known between its readings to a share of its range only.
inline constexpr double moving_share = 0.08;

}  // namespace foundling
