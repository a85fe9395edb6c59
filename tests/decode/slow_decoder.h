// The slow, obvious decoder: bit by bit, no plan, nothing shared with the fast one but the map.
#pragma once

#include <optional>
#include <span>
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

// Of a frame, or of a whole payload under its identifier of a payload.
[[nodiscard]] std::vector<SlowValue> slow_decode(const SignalMap& map, const Frame& frame);
[[nodiscard]] std::vector<SlowValue> slow_decode(const SignalMap& map, std::uint8_t bus, CanId id,
                                                 std::span<const std::uint8_t> payload);

}  // namespace foundling
