// Names that carry a number: cell_03_voltage is member 3 of cell_*_voltage.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace foundling {

struct NumberedName {
  std::string before;  // "cell_"
  std::string after;   // "_voltage"; may be empty
  std::int64_t number = 0;
  int digits = 1;  // at least so many are written: 2 for "03", 1 for "3"

  [[nodiscard]] std::string with(std::int64_t other) const;  // the name of another member
};

// Every way to read the name so, one a run of digits; numbers of more than six digits are none.
[[nodiscard]] std::vector<NumberedName> numbered_names(const std::string& name);

}  // namespace foundling
