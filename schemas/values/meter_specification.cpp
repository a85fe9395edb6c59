#include "schemas/values/meter_specification.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <numbers>

#include "schemas/values/text_scan.h"
#include "schemas/values/unit.h"

namespace foundling {
namespace {

// Both tails outside, as a data sheet means it.
constexpr double normal_95 = 1.95996398454005;
constexpr double normal_99 = 2.57582930354890;

bool is_one_of(std::string_view word, std::initializer_list<std::string_view> words) {
  return std::find(words.begin(), words.end(), word) != words.end();
}

class Reader {
 public:
  explicit Reader(std::string_view text) : scan_(text) {}

  Result<MeterSpecification> read() {
    scan_.take("±");
    do {
      if (auto taken = term(); !taken) return taken.error();
    } while (scan_.take("+"));
    if (scan_.take(",")) {
      if (auto taken = coverage(); !taken) return taken.error();
    }
    if (!scan_.at_end()) return fault("+, or a comma and k = 2, or the end");
    if (meter_.of_reading == 0 && meter_.of_range == 0 && meter_.digits == 0 && meter_.fixed == 0) {
      return Error{ErrorCode::format, "meter specification: all its terms are 0"};
    }
    return meter_;
  }

 private:
  [[nodiscard]] Error fault(std::string_view expected) const {
    return {ErrorCode::format, "meter specification: " + scan_.complaint(expected)};
  }

  Result<void> term() {
    const std::size_t column = scan_.column();
    const auto value = scan_.number();
    if (!value) return fault("a number like 0.05");
    if (*value < 0) {
      return Error{ErrorCode::format,
                   "meter specification: a term below 0 at column " + std::to_string(column)};
    }
    const std::string_view word = scan_.peek_word();
    if (word == "%") return share(*value / 100);
    if (word == "ppm") return share(*value / 1e6);
    if (is_one_of(word, {"digits", "digit", "dgts", "dgt", "d", "counts", "count"})) {
      scan_.word();
      meter_.digits += *value;
      return {};
    }
    if (word.empty()) return fault("%, ppm, digits, or a unit");
    const auto unit = known_unit(word);
    if (!unit) return fault("%, ppm, digits, or a unit");
    if (!meter_.fixed_unit.empty()) return fault("one fixed term only");
    scan_.word();
    meter_.fixed = *value;
    meter_.fixed_unit = *unit;
    return {};
  }

  Result<void> share(double value) {
    scan_.word();
    const bool of = scan_.peek_word() == "of";
    if (of) scan_.word();
    const std::string_view word = scan_.peek_word();
    if (is_one_of(word, {"range", "rng", "fs"})) {
      scan_.word();
      meter_.of_range += value;
      return {};
    }
    if (is_one_of(word, {"reading", "rdg"})) {
      scan_.word();
    } else if (of || !word.empty()) {
      return fault("'of reading' or 'of range'");
    }
    meter_.of_reading += value;
    return {};
  }

  Result<void> coverage() {
    const TextScan before = scan_;
    if (const auto level = scan_.number()) {
      if (scan_.word() == "%" && (*level == 95 || *level == 99)) {
        meter_.coverage = *level == 95 ? normal_95 : normal_99;
        return {};
      }
      scan_ = before;
      return fault("95 % or 99 %");
    }
    if (scan_.word() != "k" || !scan_.take("=")) {
      scan_ = before;
      return fault("k = 2, 95 % or 99 %");
    }
    const auto k = scan_.number();
    if (!k || *k < 1 || *k > 10) return fault("a coverage factor from 1 to 10");
    meter_.coverage = k;
    return {};
  }

  TextScan scan_;
  MeterSpecification meter_;
};

Error missing(const std::string& what) {
  return {ErrorCode::usage, "the meter's specification needs " + what};
}

}  // namespace

Result<MeterSpecification> parse_meter_specification(std::string_view text) {
  return Reader(text).read();
}

Result<double> standard_uncertainty(const MeterSpecification& meter, double reading,
                                    const MeterSetting& setting) {
  double limit = meter.of_reading * std::fabs(reading);
  if (meter.of_range > 0) {
    if (!setting.range) return missing("the range it was set to");
    limit += meter.of_range * std::fabs(*setting.range);
  }
  if (meter.digits > 0) {
    if (!setting.resolution) return missing("the resolution: what the last digit is worth");
    limit += meter.digits * std::fabs(*setting.resolution);
  }
  if (!meter.fixed_unit.empty()) {
    const auto conversion = unit_conversion(meter.fixed_unit, setting.unit);
    if (!conversion) {
      return Error{ErrorCode::usage, "the meter's specification has a term in " + meter.fixed_unit +
                                         ", and the reading is in " + setting.unit};
    }
    limit += conversion->uncertainty(meter.fixed);
  }
  return limit / meter.coverage.value_or(std::numbers::sqrt3);
}

std::optional<double> resolution_of_text(std::string_view number) {
  if (!number.empty() && (number[0] == '+' || number[0] == '-')) number.remove_prefix(1);
  std::size_t at = 0;
  int decimals = 0, digits = 0;
  bool point = false;
  for (; at < number.size(); ++at) {
    const char c = number[at];
    if (c == '.' && !point) {
      point = true;
    } else if (c >= '0' && c <= '9') {
      ++digits;
      decimals += point ? 1 : 0;
    } else {
      break;
    }
  }
  if (digits == 0) return std::nullopt;
  int exponent = 0;
  if (at < number.size()) {
    if (number[at] != 'e' && number[at] != 'E') return std::nullopt;
    ++at;
    if (at < number.size() && number[at] == '+') ++at;
    const char* const end = number.data() + number.size();
    const auto [after, failure] = std::from_chars(number.data() + at, end, exponent);
    if (failure != std::errc{} || after != end || exponent < -300 || exponent > 300) {
      return std::nullopt;
    }
  }
  const int power = exponent - decimals;
  // A division by a whole power of ten rounds once: 0.01 is the double nearest to it.
  return power < 0 ? 1 / std::pow(10, -power) : std::pow(10, power);
}

}  // namespace foundling
