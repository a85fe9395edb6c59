// Numbers as a person reads them: few digits, with their unit.
#pragma once

#include <cstdint>
#include <string>

#include "decoder/analysis/proposal.h"
#include "schemas/values/frame.h"

namespace foundling {

// So many significant digits, no trailing zeros; no exponent between 1e-5 and 1e9.
[[nodiscard]] std::string figure(double value, int digits);
// The shortest text that reads back the same.
[[nodiscard]] std::string exact_figure(double value);
// With the prefix that leaves one to three digits before the point, where the unit takes one:
// "1.000 mV", "62 °C". So many significant digits, zeros at the end among them.
[[nodiscard]] std::string engineering(double value, const std::string& unit, int digits);
// "-40.00 ± 0.43 °C", "0 ± 1.6 mV": the uncertainty with two digits, the value as fine.
[[nodiscard]] std::string plus_minus(double value, double uncertainty, const std::string& unit);
// "0.5 %" of 0.005, with so many significant digits.
[[nodiscard]] std::string percent(double share, int digits);
// "20 ms", "1.5 s", "250 µs"
[[nodiscard]] std::string duration(double seconds);
// Identifier in hex: three digits for 11 bits, eight for 29.
[[nodiscard]] std::string identifier_text(CanId id);
// "1A4 2.7..3.0", with "bus 1" before it where there is more than one, and its page.
[[nodiscard]] std::string place_text(const FieldPlace& place, bool with_bus);

}  // namespace foundling
