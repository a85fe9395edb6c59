#include "schemas/values/nearest_word.h"

#include <algorithm>
#include <vector>

namespace foundling {
namespace {

constexpr std::size_t longest_word = 64;  // bytes; nobody mistypes a longer one by a letter or two

}  // namespace

// Optimal string alignment distance by dynamic programming over three rows: a swap looks two back.
std::size_t edit_distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> before(b.size() + 1);
  std::vector<std::size_t> last(b.size() + 1);
  std::vector<std::size_t> row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) last[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t replaced = last[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      row[j] = std::min({last[j] + 1, row[j - 1] + 1, replaced});
      const bool swapped = i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1];
      if (swapped) row[j] = std::min(row[j], before[j - 2] + 1);
    }
    std::swap(before, last);
    std::swap(last, row);
  }
  return last[b.size()];
}

std::optional<std::string> nearest_word(std::string_view word, std::span<const std::string> known) {
  // Anything is near to "-x"; and a distance costs the product of the lengths.
  if (word.size() < 3 || word.size() > longest_word) return std::nullopt;
  const std::string* best = nullptr;
  std::size_t least = std::max<std::size_t>(1, word.size() / 3) + 1;
  for (const std::string& candidate : known) {
    if (candidate.size() >= word.size() + least || candidate.size() + least <= word.size())
      continue;
    const std::size_t distance = edit_distance(word, candidate);
    if (distance < least) {
      least = distance;
      best = &candidate;
    }
  }
  if (best != nullptr) return *best;
  const auto begun = std::find_if(known.begin(), known.end(), [word](const std::string& candidate) {
    return candidate.compare(0, word.size(), word) == 0;
  });
  if (begun == known.end()) return std::nullopt;
  return *begun;
}

}  // namespace foundling
