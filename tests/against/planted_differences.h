// Differences of every kind, planted into the second of two recordings of one steady board.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "tests/against/edits.h"

namespace foundling::test {

struct Planted {
  std::string what;  // a sentence
  DifferenceKind kind;
  std::uint32_t number;  // the message; 0: a whole bus
  // What else follows from the planted difference, in the same message or elsewhere.
  std::vector<std::pair<DifferenceKind, std::uint32_t>> follows;
  std::function<void(Messages& a, Messages& b, std::mt19937_64& random)> plant;
};

[[nodiscard]] std::vector<Planted> planted_differences();  // all of them
[[nodiscard]] std::vector<Planted> planted_by_wiring();
[[nodiscard]] std::vector<Planted> planted_by_firmware();
[[nodiscard]] std::vector<Planted> planted_by_parts();

}  // namespace foundling::test
