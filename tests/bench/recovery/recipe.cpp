#include "tests/bench/recovery/recipe.h"

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
  }
  return r;
}

const std::vector<Family>& all_families() {
  static const std::vector<Family> families{
      Family::plain_big, Family::plain_little, Family::paged,    Family::packed,
      Family::j1939,     Family::fd,           Family::sluggish, Family::confounded,
      Family::no_signal, Family::clock_off,    Family::states,   Family::imperfect,
      Family::sleepy,    Family::curved};
  return families;
}

std::string_view name_of(Family family) {
  static constexpr std::string_view names[] = {
      "plain-big",  "plain-little", "paged",     "packed", "j1939",     "fd",     "sluggish",
      "confounded", "no-signal",    "clock-off", "states", "imperfect", "sleepy", "curved"};
  return names[static_cast<std::size_t>(family)];
}

std::optional<Family> family_named(std::string_view name) {
  for (const Family family : all_families()) {
    if (name_of(family) == name) return family;
  }
  return {};
}

}  // namespace foundling::recovery
