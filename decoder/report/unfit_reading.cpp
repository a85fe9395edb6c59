#include "decoder/report/unfit_reading.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>

#include "decoder/report/figures.h"
#include "schemas/values/shell_word.h"

namespace foundling {
namespace {

constexpr int digits_at_least = 4;      // as many as a hand-held meter of 6000 counts shows
constexpr int digits_of_a_double = 15;  // every decimal number of so many is read back the same

int magnitude(double value) { return static_cast<int>(std::floor(std::log10(std::abs(value)))); }

// The number nearest to `value` with at most 15 digits, shortest.
std::string tidy(double value) {
  return exact_figure(std::strtod(figure(value, digits_of_a_double).c_str(), nullptr));
}

// How many places after the point the value was written down with, at least: zeros at the end are
// not known any more.
int places_of(double value) {
  const std::string text = figure(value, digits_of_a_double);
  const auto point = text.find('.');
  if (point == std::string::npos || text.find('e') != std::string::npos) return 0;
  return static_cast<int>(text.size() - point - 1);
}

// What the board says, as fine as what was written down.
std::string board_figure(const UnfitReading& reading) {
  const double value = reading.expected;
  if (value == 0 || !std::isfinite(value)) return exact_figure(value);
  const int as_written = places_of(reading.value) + 1 + magnitude(value);
  return figure(value, std::clamp(as_written, digits_at_least, digits_of_a_double));
}

// The power of ten by which the point is off; 0 where that cannot be said.
int powers_off(const UnfitReading& reading) {
  if (reading.value == 0 || reading.expected == 0) return 0;
  return static_cast<int>(std::lround(std::log10(std::abs(reading.value / reading.expected))));
}

std::string corrected(const UnfitReading& reading) {
  if (is_state(reading)) return reading.expected_state;
  if (reading.kind == Slip::sign) return tidy(-reading.value);
  const int powers = powers_off(reading);
  if (reading.kind == Slip::factor_10 && powers != 0) {
    return tidy(reading.value * std::pow(10.0, -powers));
  }
  return board_figure(reading);
}

std::string with_unit(const std::string& number, const std::string& unit) {
  return unit.empty() ? number : number + ' ' + unit;
}

std::string times_words(int powers) {
  static constexpr std::array times{"ten times", "a hundred times", "a thousand times"};
  static constexpr std::array parts{"a tenth of", "a hundredth of", "a thousandth of"};
  const auto at = static_cast<std::size_t>(std::abs(powers)) - 1;
  if (powers > 0 && at < times.size()) return times.at(at);
  if (powers < 0 && at < parts.size()) return parts.at(at);
  return "1e" + std::to_string(powers) + " times";
}

// What seems to have happened, with what the board says.
std::string slip_words(const UnfitReading& reading) {
  const std::string board =
      is_state(reading) ? reading.expected_state : with_unit(board_figure(reading), reading.unit);
  const std::string says = "; the board says " + board;
  switch (reading.kind) {
    case Slip::factor_10:
      if (powers_off(reading) == 0) return "the decimal point is elsewhere" + says;
      return times_words(powers_off(reading)) + " what the board says (" + board + ')';
    case Slip::sign:
      return "the other sign of what the board says (" + board + ')';
    case Slip::digits:
      return "digits that changed places or were misread" + says;
    case Slip::previous:
      return "the value before, written down once more" + says;
    case Slip::neighbour:
      return "the value of another channel" + says;
    case Slip::unfit:
      break;
  }
  return "does not fit" + says;
}

}  // namespace

ReadingsOf readings_of(const Correlation& correlation, const std::string& capture) {
  ReadingsOf out{capture, {}};
  if (!correlation.source) return out;
  out.session = correlation.source->session;
  if (capture.empty()) out.capture = correlation.source->capture;
  return out;
}

std::string_view to_string(Slip kind) {
  switch (kind) {
    case Slip::factor_10:
      return "factor-10";
    case Slip::sign:
      return "sign";
    case Slip::digits:
      return "digits";
    case Slip::previous:
      return "previous";
    case Slip::neighbour:
      return "neighbour";
    case Slip::unfit:
      break;
  }
  return "unfit";
}

bool is_state(const UnfitReading& reading) { return reading.unit == "state"; }

std::string unfit_words(const UnfitReading& reading) {
  const std::string written =
      is_state(reading) ? reading.state : with_unit(exact_figure(reading.value), reading.unit);
  return "reading " + std::to_string(reading.reading) + ", " + reading.channel + " = " + written +
         " at " + moment_text(reading.t_ns) + ": " + slip_words(reading);
}

std::string correction_line(const UnfitReading& reading, const ReadingsOf& readings) {
  std::string value = corrected(reading);
  if (!is_state(reading)) value += reading.unit;
  std::string line =
      "foundling stimulus " + (readings.capture.empty() ? "CAPTURE" : shell_word(readings.capture));
  line += " correct " + std::to_string(reading.reading) + ' ' + shell_word(value);
  // Else it would be looked for in the last one.
  if (readings.session) line += " --session " + std::to_string(*readings.session);
  return line;
}

std::string left_out_words(const Correlation& correlation, const Proposal& proposal) {
  constexpr std::size_t most_named = 5;
  std::vector<std::int64_t> left_out;
  for (const UnfitReading& reading : correlation.unfit_readings) {
    if (reading.channel == proposal.channel) left_out.push_back(reading.reading);
  }
  if (left_out.empty()) return {};
  const bool one = left_out.size() == 1;
  std::string text = proposal.channel + " holds without reading" + (one ? " " : "s ");
  const std::size_t named = std::min(left_out.size(), most_named);
  for (std::size_t i = 0; i < named; ++i) {
    if (i > 0) text += i + 1 == left_out.size() ? " and " : ", ";
    text += std::to_string(left_out[i]);
  }
  if (named < left_out.size()) {
    text += " and " + std::to_string(left_out.size() - named) + " more";
  }
  return text + (one ? ", which does not fit" : ", which do not fit");
}

std::string moment_text(std::int64_t t_ns) {
  constexpr std::int64_t tenth = 100'000'000;
  const std::int64_t tenths = (std::abs(t_ns) + tenth / 2) / tenth;
  const auto hours = static_cast<long long>(tenths / 36000);
  const auto minutes = static_cast<long long>(tenths / 600 % 60);
  const double seconds = static_cast<double>(tenths % 600) / 10;
  std::array<char, 64> text{};
  const char* const sign = t_ns < 0 && tenths > 0 ? "-" : "";
  if (hours > 0) {
    std::snprintf(text.data(), text.size(), "%s%lld:%02lld:%04.1f", sign, hours, minutes, seconds);
  } else {
    std::snprintf(text.data(), text.size(), "%s%lld:%04.1f", sign, minutes, seconds);
  }
  return text.data();
}

}  // namespace foundling
