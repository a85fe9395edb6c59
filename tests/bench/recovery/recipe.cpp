#include "tests/bench/recovery/recipe.h"

#include <algorithm>

namespace foundling::recovery {
namespace {

void draw_common(Recipe& r, Rng& rng) {
  r.cells = rng.integer(8, 16);
  r.cells_moved = rng.integer(4, 8);
  r.temperatures = rng.integer(3, 7);
  r.temperatures_moved = rng.integer(1, 3);
  r.others_moved = rng.integer(2, 6);
  r.states_moved = rng.integer(0, 2);
  r.state_machines = rng.integer(0, 1);
  r.samples = rng.integer(0, 2);
  r.no_signal = rng.integer(0, 2);
  r.decoys = rng.integer(3, 6);
  r.walks = rng.integer(2, 4);
  r.few_levels = rng.chance(0.3) ? 1 : 0;
  r.dwell_s = {rng.uniform(3, 6), rng.uniform(7, 20)};
  r.extended = rng.chance(0.2);
}

void draw_sluggish(Recipe& r) {
  r.time_constant_s = {1.3, 1.7};
  r.noise_lsb = {2, 5};
  r.levels_low = 6;
  r.levels_high = 8;
  r.dwell_s = {9, 20};
  r.cells_moved = 4;
  r.few_levels = 0;
}

void draw_sleepy(Recipe& r) {
  r.periods_s = {1.0};
  r.event_driven_chance = 0.4;
  r.dwell_s = {10, 20};
  r.levels_high = 12;
  r.samples = 0;
}

void draw_imperfect(Recipe& r) {
  r.gain_error = 0.003;
  r.zero_lsb = 1;
  r.saturation_chance = 0.15;
  r.wide = true;
}

void draw_curved(Recipe& r, Rng& rng) {
  r.curved = true;
  r.temperatures = 6;
  r.temperatures_moved = rng.integer(3, 5);
  r.others_moved = rng.integer(4, 7);
  r.levels_low = 9;
}

void draw_states(Recipe& r, Rng& rng) {
  r.states_moved = rng.integer(5, 9);
  r.state_machines = rng.integer(1, 3);
  r.cells_moved = 3;
  r.others_moved = rng.integer(1, 3);
}

void draw_j1939(Recipe& r, Rng& rng) {
  r.j1939 = r.little = r.extended = true;
  r.reserved_start_s = rng.uniform(1, 5);
}

void draw_fd(Recipe& r, Rng& rng) {
  r.fd = true;
  r.cells = 28;
  r.cells_moved = rng.integer(8, 28);
  r.little = rng.chance(0.5);
}

void draw_paged(Recipe& r, Rng& rng) {
  r.paged = true;
  r.cells = rng.integer(100, 128);
  r.cells_moved = rng.integer(3, 6);
  r.plan = PlanStyle::one_at_a_time;
  r.levels_high = 9;
  r.others_moved = rng.integer(2, 4);
  r.periods_s = {0.02, 0.05, 0.1};
  r.dwell_s = {5, 8};
  r.little = rng.chance(0.5);
}

}  // namespace

Recipe draw_recipe(Family family, Rng& rng) {
  Recipe r;
  draw_common(r, rng);
  // The named orders aside, boards come in either.
  r.little = family != Family::plain_big && rng.chance(0.4);
  switch (family) {
    case Family::plain_big:
      break;
    case Family::plain_little:
      r.little = r.signed_current = true;
      break;
    case Family::paged:
      draw_paged(r, rng);
      break;
    case Family::packed:
      r.packed = true;
      r.little = rng.chance(0.5);
      break;
    case Family::j1939:
      draw_j1939(r, rng);
      break;
    case Family::fd:
      draw_fd(r, rng);
      break;
    case Family::sluggish:
      draw_sluggish(r);
      break;
    case Family::confounded:
      r.confounded_sets = rng.integer(1, 3);
      r.plan = PlanStyle::all_at_once;
      break;
    case Family::no_signal:
      r.no_signal = rng.integer(6, 12);
      r.decoys = rng.integer(10, 16);
      r.walks = 5;
      break;
    case Family::clock_off:
      r.clock_offset_s = rng.uniform(1.0, 4.2);
      r.clock_drift = rng.uniform(-300e-6, 300e-6);
      r.samples = rng.integer(3, 5);
      r.dwell_s = {8, 18};
      break;
    case Family::states:
      draw_states(r, rng);
      break;
    case Family::imperfect:
      draw_imperfect(r);
      break;
    case Family::sleepy:
      draw_sleepy(r);
      break;
    case Family::curved:
      draw_curved(r, rng);
      break;
    default:  // the disturbed ones are drawn from these
      break;
  }
  return r;
}

namespace {

void suit_hand(Recipe& r, Rng& rng) {  // somebody who needs time leaves time
  r.dwell_s = {8, rng.uniform(9, 16)};
  r.states_moved = std::max(r.states_moved, rng.integer(1, 3));
}

// Long enough that two minutes are the smaller part.
void suit_swapped(Recipe& r, Rng& rng) {
  r.plan = PlanStyle::all_at_once;
  r.levels_low = 36;
  r.levels_high = 48;
  r.dwell_s = {9, rng.uniform(10, 13)};
  r.few_levels = 0;
}

void suit_staircase(Recipe& r, Rng& rng) {
  r.staircase = true;
  r.levels_low = 6;
  r.levels_high = 12;
  r.dwell_s = {8, rng.uniform(9, 14)};
  r.cells_moved = rng.integer(2, 4);
  r.temperatures_moved = 1;
  r.others_moved = rng.integer(1, 3);
  r.states_moved = r.few_levels = r.samples = 0;
  r.no_signal = r.cells_moved + r.temperatures_moved + r.others_moved + 1;
  r.decoys = rng.integer(10, 16);
}

void suit_absent(Recipe& r, Rng& rng) {
  r.no_signal = rng.integer(6, 9);
  r.silent_samples = rng.integer(2, 4);
  r.silent_states = rng.integer(2, 4);
  r.cells_moved = std::min(r.cells_moved, 4);
  r.temperatures_moved = 1;
  r.others_moved = rng.integer(1, 2);
  r.states_moved = rng.integer(1, 2);
  r.decoys = rng.integer(8, 14);
}

}  // namespace

void suit(Family disturbed, Recipe& r, Rng& rng) {
  switch (disturbed) {
    case Family::late_hand:
    case Family::very_late:
    case Family::prompted:
      suit_hand(r, rng);
      break;
    case Family::slips_3:
    case Family::slips_10:
      r.levels_low = std::max(r.levels_low, 8);
      r.levels_high = std::max(r.levels_high, 10);
      r.few_levels = 0;
      break;
    case Family::swapped:
      suit_swapped(r, rng);
      break;
    case Family::five_levels:
      r.levels_low = r.levels_high = 5;
      r.few_levels = 0;
      break;
    case Family::staircase:
      suit_staircase(r, rng);
      break;
    case Family::foreign:  // steps shorter than the shift, so that no level stands where it was
      r.dwell_s = {3, 6.5};
      break;
    case Family::absent:
      suit_absent(r, rng);
      break;
    default:
      break;
  }
}

}  // namespace foundling::recovery
