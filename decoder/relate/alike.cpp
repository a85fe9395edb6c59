#include "decoder/relate/alike.h"

#include <algorithm>
#include <cmath>

namespace foundling::relate {
namespace {

constexpr std::size_t fewest = 4;
constexpr std::size_t most_groups = 24;
constexpr double level_share = 0.3;  // a full and an empty cell of one chemistry
constexpr double noise_ratio = 6;
constexpr double quiet = 0.3;  // codes: beneath it, rounding decides how often a bit flips

bool are_alike(const Field& a, const Field& b) {
  if (a.place.bus != b.place.bus || a.is_signed != b.is_signed) return false;
  const double noise_a = std::max(a.noise, quiet);
  const double noise_b = std::max(b.noise, quiet);
  if (noise_a > noise_ratio * noise_b || noise_b > noise_ratio * noise_a) return false;
  // Constant bits above may belong to a neighbour: the narrower of the two decides.
  const int width = std::min(a.place.span.width(), b.place.span.width());
  if (width < std::max(a.moved_bits, b.moved_bits)) return false;
  const double size = std::ldexp(1.0, width);
  const double level_a = a.is_signed ? a.level : std::fmod(a.level, size);
  const double level_b = b.is_signed ? b.level : std::fmod(b.level, size);
  return std::abs(level_a - level_b) <=
         level_share * std::max(std::abs(level_a), std::abs(level_b)) + 2;
}

double shared_part(const std::vector<std::size_t>& a, const std::vector<std::size_t>& b) {
  std::vector<std::size_t> both;
  std::ranges::set_intersection(a, b, std::back_inserter(both));
  return static_cast<double>(both.size()) / static_cast<double>(a.size() + b.size() - both.size());
}

}  // namespace

std::vector<std::vector<std::size_t>> alike_groups(std::span<const Field> fields) {
  std::vector<std::vector<std::size_t>> all;
  for (std::size_t seed = 0; seed < fields.size(); ++seed) {
    if (fields[seed].moved_bits < 2 || fields[seed].is_other_cut) continue;
    std::vector<std::size_t> group;
    for (std::size_t f = 0; f < fields.size(); ++f) {
      if (fields[f].moved_bits < 2 || fields[f].is_other_cut) continue;
      if (are_alike(fields[seed], fields[f])) group.push_back(f);
    }
    if (group.size() >= fewest) all.push_back(std::move(group));
  }
  std::ranges::stable_sort(all, std::ranges::greater{}, &std::vector<std::size_t>::size);
  std::vector<std::vector<std::size_t>> groups;
  for (std::vector<std::size_t>& group : all) {
    if (groups.size() == most_groups) break;
    const bool known = std::ranges::any_of(
        groups, [&](const auto& other) { return shared_part(group, other) > 0.85; });
    if (!known) groups.push_back(std::move(group));
  }
  return groups;
}

}  // namespace foundling::relate
