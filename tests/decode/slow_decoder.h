// The slow, obvious decoder: bit by bit, no plan, nothing shared with the fast one but the map.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "schemas/signals/field.h"
#include "schemas/values/frame.h"

namespace foundling {

struct SlowValue {
  std::string signal;
  bool is_number = false;
  double number = 0;
  std::string word;  // where it is no number
  bool operator==(const SlowValue&) const = default;
};

[[nodiscard]] std::vector<SlowValue> slow_decode(const SignalMap& map, const Frame& frame);

}  // namespace foundling
