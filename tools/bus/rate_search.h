// Finds the bit rate of a bus by listening at one rate after the other, electrically silent. The
// interface is down before and after.
#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <vector>

#include "schemas/link/can_link.h"
#include "schemas/values/result.h"
#include "tools/bus/bus_words.h"

namespace foundling {

struct SearchPlan {
  std::vector<std::uint32_t> bit_rates;
  std::uint32_t data_bit_rate = 0;  // listen for FD frames too; 0: classical
  double sample_point = 0;          // 0: the kernel's choice
  std::chrono::milliseconds at_each{2000};
};

// In the order in which they are likely (common practice, no source).
[[nodiscard]] std::vector<std::uint32_t> usual_bit_rates();

// Stops at the first rate that lets sound frames through. `tell` hears of every rate tried.
Result<RateSearch> search_rate(const CanLink& link, const SearchPlan& plan,
                               const std::function<void(const Listening&)>& tell);

}  // namespace foundling
