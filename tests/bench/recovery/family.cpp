#include "tests/bench/recovery/family.h"

namespace foundling::recovery {
namespace {

constexpr auto last_undisturbed = static_cast<std::size_t>(Family::curved);
constexpr auto last_family = static_cast<std::size_t>(Family::absent);

std::vector<Family> families_up_to(std::size_t last) {
  std::vector<Family> families;
  for (std::size_t i = 0; i <= last; ++i) families.push_back(static_cast<Family>(i));
  return families;
}

}  // namespace

const std::vector<Family>& all_families() {
  static const std::vector<Family> families = families_up_to(last_family);
  return families;
}

const std::vector<Family>& undisturbed_families() {
  static const std::vector<Family> families = families_up_to(last_undisturbed);
  return families;
}

bool is_disturbed(Family family) { return static_cast<std::size_t>(family) > last_undisturbed; }

std::string_view name_of(Family family) {
  static constexpr std::string_view names[] = {
      "plain-big", "plain-little", "paged",         "packed",    "j1939",   "fd",
      "sluggish",  "confounded",   "no-signal",     "clock-off", "states",  "imperfect",
      "sleepy",    "curved",       "startup-codes", "bursts",    "dropout", "reset",
      "brown-out", "late-hand",    "very-late",     "prompted",  "slips-3", "slips-10",
      "swapped",   "five-levels",  "staircase",     "foreign",   "absent"};
  static_assert(std::size(names) == last_family + 1);
  return names[static_cast<std::size_t>(family)];
}

std::optional<Family> family_named(std::string_view name) {
  for (const Family family : all_families()) {
    if (name_of(family) == name) return family;
  }
  return {};
}

Family base_of(Family family, Rng& rng) {
  if (!is_disturbed(family)) return family;
  static const std::vector<Family> bases{Family::plain_big, Family::plain_little, Family::packed,
                                         Family::paged,     Family::j1939,        Family::states};
  return rng.pick(bases);
}

}  // namespace foundling::recovery
