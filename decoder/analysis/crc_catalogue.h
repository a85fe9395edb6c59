// Published cyclic redundancy checks: their parameters and names.
// Sources: AUTOSAR "Specification of CRC Routines"; SAE J1850; Greg Cook's "Catalogue of
// parametrised CRC algorithms". Rows marked so in the source are from memory.
#pragma once

#include <cstdint>
#include <span>
#include <string_view>

namespace foundling {

struct PublishedCrc {
  int width;
  std::uint32_t polynomial;  // normal form, without the top bit
  std::uint32_t initial;
  bool reflected;  // input and output
  std::uint32_t final_xor;
  std::string_view name;
};

[[nodiscard]] std::span<const PublishedCrc> published_crcs();

}  // namespace foundling
