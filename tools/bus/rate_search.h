// Finds the bit rate of a bus, and the data rate of its CAN FD frames, by listening at one rate
// after the other, electrically silent. The interface is down before and after, set as it was.
//
// The data rate only shows where FD is switched on: a frame that switches rates comes in at the
// right one and fails within its data at any other, while classical frames come in at all of them.
#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <optional>
#include <vector>

#include "schemas/link/can_link.h"
#include "schemas/values/result.h"
#include "tools/bus/bus_words.h"

namespace foundling {

struct SearchPlan {
  std::vector<std::uint32_t> bit_rates;
  std::vector<std::uint32_t> data_bit_rates;  // to be tried; empty: no search for it
  std::uint32_t data_bit_rate = 0;            // known: listen with it from the start; 0: classical
  double sample_point = 0;                    // 0: the kernel's choice
  double data_sample_point = 0;
  std::chrono::milliseconds at_each{2000};
  std::function<bool()> stopped = [] { return false; };
};

// In the order in which they are likely (common practice, no source).
[[nodiscard]] std::vector<std::uint32_t> usual_bit_rates();
[[nodiscard]] std::vector<std::uint32_t> usual_data_bit_rates();

// Listens once; data rate 0: classical. Nothing: the adapter does not offer that.
using ListenAt = std::function<Result<std::optional<Listening>>(std::uint32_t bit_rate,
                                                                std::uint32_t data_bit_rate)>;

// Which rates are tried, whoever listens. Stops at the first that lets sound frames through.
Result<RateSearch> search_rates(const SearchPlan& plan, const ListenAt& listen);

// The same on an interface. `tell` hears of every rate tried.
Result<RateSearch> search_rate(const CanLink& link, const SearchPlan& plan,
                               const std::function<void(const Listening&)>& tell);

}  // namespace foundling
