// Boards for the bench's own tests, made once and shared by the cases.
#pragma once

#include <map>
#include <utility>

#include "tests/bench/recovery/random_board.h"

namespace foundling::recovery {

inline const RandomBoard& board_of(Family family, std::uint64_t seed) {
  static std::map<std::pair<Family, std::uint64_t>, RandomBoard> boards;
  const auto key = std::pair(family, seed);
  auto found = boards.find(key);
  if (found == boards.end()) found = boards.emplace(key, make_board(family, seed)).first;
  return found->second;
}

}  // namespace foundling::recovery
