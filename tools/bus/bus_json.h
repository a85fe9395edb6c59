// Interfaces and a search for the bit rate as JSON ("foundling-interfaces", "foundling-bit-rate").
#pragma once

#include <span>
#include <string>

#include "tools/bus/bus_words.h"

namespace foundling {

[[nodiscard]] std::string links_json(std::span<const CanLink> links);
[[nodiscard]] std::string search_json(const RateSearch& search);

}  // namespace foundling
