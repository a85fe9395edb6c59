// Which family of metrics a signal's numbers belong to: one for each quantity, in the base unit
// that OpenMetrics 1.0.0 ("Units and Base Units") has for it, or the SI's where it has none, so
// that the values of one family can be added and compared.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string_view>

#include "schemas/values/unit.h"

namespace foundling {

struct MetricFamily {
  std::string_view name;  // ends in `unit`
  std::string_view unit;  // what # UNIT says
  std::string_view of;    // our unit that its numbers are counted from
  double multiply = 1;    // and how: times `multiply`, divided by `divide`
  double divide = 1;
  std::string_view help;
};

struct InFamily {
  std::size_t family = 0;  // into metric_families()
  UnitConversion to_ours;  // into the family's `of`
  [[nodiscard]] double value(double number) const;
};

[[nodiscard]] std::span<const MetricFamily> metric_families();
// Nothing for a unit of no known quantity, or none: such numbers have the family of bare numbers.
[[nodiscard]] std::optional<InFamily> family_of(std::string_view unit);

}  // namespace foundling
