// A meter's accuracy as its data sheet prints it, and what that makes of one reading.
//
//   0.05% + 2 digits            35 ppm of reading + 5 ppm of range
//   1 % + 5 counts, k = 2       0.1 % of range + 0.5 mV       2 ppm of range, 95 %
//
// The terms add up to a limit of error a. A limit alone says nothing about where within it the
// error lies: a rectangular distribution, standard uncertainty a / sqrt(3) (JCGM 100:2008 "GUM",
// 4.3.7). Where the data sheet names a coverage factor k it is a / k (GUM 4.3.3); where a level of
// confidence, k is the normal distribution's (GUM 4.3.4).
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "schemas/values/result.h"

namespace foundling {

struct MeterSpecification {
  double of_reading = 0;           // share of one: 0.05 % is 0.0005
  double of_range = 0;             // share of one
  double digits = 0;               // steps of the last digit
  double fixed = 0;                // in fixed_unit
  std::string fixed_unit;          // empty: no fixed part
  std::optional<double> coverage;  // k; none: the terms are limits

  bool operator==(const MeterSpecification&) const = default;
};

// The error names the column.
Result<MeterSpecification> parse_meter_specification(std::string_view text);

// In the reading's unit.
struct MeterSetting {
  std::optional<double> range;       // full scale
  std::optional<double> resolution;  // what one step of the last digit is worth
  std::string unit;                  // of the reading
};

// In the reading's unit. An error where a term needs a range or a resolution that is not given, or
// the fixed part's unit does not fit.
Result<double> standard_uncertainty(const MeterSpecification& meter, double reading,
                                    const MeterSetting& setting);

// What one step of the last digit of a number as typed is worth: "12.50" 0.01, "1.2e3" 100.
// Nothing for what is no plain number.
[[nodiscard]] std::optional<double> resolution_of_text(std::string_view number);

}  // namespace foundling
