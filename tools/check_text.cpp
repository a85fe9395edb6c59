#include "tools/check_text.h"

#include <unistd.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <nlohmann/json.hpp>

#include "schemas/values/utf8.h"
#include "tools/terminal.h"

namespace foundling {
namespace {

std::string figure(double value) {
  if (!std::isfinite(value)) return "-";
  std::array<char, 32> text{};
  const auto stop =
      std::to_chars(text.data(), text.data() + text.size(), value, std::chars_format::general, 4)
          .ptr;
  return {text.data(), stop};
}

using Row = std::array<std::string, 10>;

Row row_of(const SignalCheck& check) {
  const std::string verdict = check.pass
                                  ? coloured(STDOUT_FILENO, Colour::green, "pass")
                                  : coloured(STDOUT_FILENO, Colour::red, "FAIL: " + check.reason);
  const std::string samples = std::to_string(check.samples);
  if (check.samples == 0) {
    return {check.signal, check.unit, samples, "-", "-", "-", "-", "-", "-", verdict};
  }
  if (check.is_state) {
    const auto wrong = std::lround(check.bias * static_cast<double>(check.samples));
    return {
        check.signal,          check.unit, samples, "-", "-", "-", std::to_string(wrong) + " wrong",
        figure(check.delay_s), "0 wrong",  verdict};
  }
  return {check.signal,
          check.unit,
          samples,
          figure(check.bias),
          figure(check.gain),
          figure(check.rms),
          figure(check.largest),
          figure(check.delay_s),
          figure(check.tolerance),
          verdict};
}

// Words to the left, figures to the right.
std::string aligned(const std::vector<Row>& rows) {
  std::array<std::size_t, 10> widths{};
  for (const Row& row : rows) {
    for (std::size_t i = 0; i < row.size(); ++i)
      widths[i] = std::max(widths[i], characters(row[i]));
  }
  std::string out;
  for (const Row& row : rows) {
    for (std::size_t i = 0; i < row.size(); ++i) {
      const std::string space(widths[i] - characters(row[i]), ' ');
      const bool last = i + 1 == row.size();
      const bool left = i < 2 || last;
      out += left ? row[i] + (last ? "" : space) : space + row[i];
      out += last ? "\n" : "  ";
    }
  }
  return out;
}

void list(std::string& out, const char* what, const std::vector<std::string>& names) {
  if (names.empty()) return;
  out += what;
  for (const std::string& name : names) {
    out += ' ';
    out += name;
  }
  out += '\n';
}

nlohmann::json number(double value) {
  return std::isfinite(value) ? nlohmann::json(value) : nlohmann::json(nullptr);
}

}  // namespace

std::string check_as_text(const MapCheck& check) {
  std::vector<Row> rows{{"signal", "unit", "samples", "bias", "gain", "rms", "largest", "delay s",
                         "tolerance", "verdict"}};
  for (const SignalCheck& signal : check.signals) rows.push_back(row_of(signal));
  std::string out = aligned(rows);
  out += '\n';
  list(out, "not checked, no channel of that name:", check.signals_unchecked);
  list(out, "channels that no signal of the map answers to:", check.channels_unchecked);
  const auto passed = std::ranges::count(check.signals, true, &SignalCheck::pass);
  out += std::to_string(passed) + " of " + std::to_string(check.signals.size()) +
         " checked signals pass\n";
  return out;
}

std::string check_as_json(const MapCheck& check) {
  nlohmann::json signals = nlohmann::json::array();
  bool pass = !check.signals.empty();
  for (const SignalCheck& signal : check.signals) {
    pass = pass && signal.pass;
    nlohmann::json item{{"signal", signal.signal},
                        {"channel", signal.channel},
                        {"unit", signal.unit},
                        {"samples", signal.samples},
                        {"coverage", signal.coverage},
                        {"bias", number(signal.bias)},
                        {"gain", number(signal.gain)},
                        {"rms", number(signal.rms)},
                        {"largest", number(signal.largest)},
                        {"delay_s", number(signal.delay_s)},
                        {"tolerance", number(signal.tolerance)},
                        {"pass", signal.pass}};
    item["reason"] =
        signal.reason.empty() ? nlohmann::json(nullptr) : nlohmann::json(signal.reason);
    signals.push_back(std::move(item));
  }
  const nlohmann::json out{{"format", "foundling-check"},
                           {"version", 1},
                           {"pass", pass},
                           {"signals", signals},
                           {"signals_without_channel", check.signals_unchecked},
                           {"channels_without_signal", check.channels_unchecked}};
  return out.dump(2) + '\n';
}

}  // namespace foundling
