#include "tools/check_text.h"

#include <unistd.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <nlohmann/json.hpp>

#include "decoder/report/figures.h"
#include "decoder/report/paragraph.h"
#include "decoder/report/text_table.h"
#include "decoder/report/unfit_reading.h"
#include "schemas/values/ucum.h"
#include "tools/terminal.h"

namespace foundling {
namespace {

std::string figure_of(double value, int digits) {
  if (!std::isfinite(value)) return "-";
  std::array<char, 32> text{};
  const auto stop = std::to_chars(text.data(), text.data() + text.size(), value,
                                  std::chars_format::general, digits)
                        .ptr;
  return {text.data(), stop};
}

// "reading 97", "3 readings"
std::string readings_words(const SignalCheck& check) {
  const auto& all = check.misfits;
  if (all.size() == 1) return "reading " + std::to_string(all.front().reading);
  return std::to_string(all.size()) + " readings";
}

// A misfit with what seems to have happened, as far as the two figures tell.
UnfitReading unfit(const SignalCheck& check, const Misfit& misfit) {
  UnfitReading out;
  out.reading = misfit.reading;
  out.channel = check.channel;
  out.unit = check.unit;
  out.t_ns = misfit.t_ns;
  out.value = misfit.value;
  out.expected = misfit.expected;
  out.state = misfit.state;
  out.expected_state = misfit.expected_state;
  if (check.is_state) return out;
  const double room = std::max(check.tolerance, 0.005 * std::abs(misfit.expected));
  const auto is = [&](double value) { return std::abs(value - misfit.expected) <= room; };
  if (is(-misfit.value)) out.kind = Slip::sign;
  for (const double times : {0.001, 0.01, 0.1, 10.0, 100.0, 1000.0}) {
    if (is(misfit.value * times)) out.kind = Slip::factor_10;
  }
  return out;
}

// Those of signals that pass: of the others they are the rule, and the table says how many.
std::string misfits_text(const MapCheck& check, const CheckedSession& checked, std::size_t width) {
  const ReadingsOf readings{checked.capture, checked.session};
  std::string text;
  for (const SignalCheck& signal : check.signals) {
    for (std::size_t i = 0; signal.pass && i < signal.misfits.size(); ++i) {
      const UnfitReading reading = unfit(signal, signal.misfits[i]);
      text += paragraph(unfit_words(reading), 2, width);
      text += "      " + correction_line(reading, readings) + '\n';
    }
  }
  if (text.empty()) return text;
  return paragraph(
             "readings that do not fit, each with the line that would correct it; nothing was "
             "corrected:",
             0, width) +
         text + '\n';
}

std::string share_of_misfits(const SignalCheck& check) {
  if (check.misfits.empty()) return {};
  return " (" + std::to_string(check.misfits.size()) + " of " + std::to_string(check.samples) + ')';
}

TextTable::Paint paint(Colour colour) {
  return [colour](const std::string& text) { return coloured(STDOUT_FILENO, colour, text); };
}

// Why, under the row; empty where all is well.
std::string why(const SignalCheck& check) {
  if (!check.tested && !check.pass) return check.reason;
  if (!check.pass) return check.reason + share_of_misfits(check);
  return check.misfits.empty() ? "" : "without " + readings_words(check);
}

// A figure of the signal's own unit.
std::string amount(double value, const SignalCheck& check, int digits = 3) {
  if (!std::isfinite(value)) return "-";
  return value == 0 ? "0" : engineering(value, check.unit, digits);
}

std::vector<std::string> cells_of(const SignalCheck& check) {
  const std::string verdict = check.pass ? "pass" : check.tested ? "FAIL" : "not tested";
  const std::string samples = std::to_string(check.samples);
  if (check.samples == 0) return {check.signal, verdict, samples};
  if (check.is_state) {
    const auto wrong = std::lround(check.bias * static_cast<double>(check.samples));
    return {check.signal, verdict,
            samples,      "",
            "",           std::to_string(wrong) + " wrong",
            "0 wrong",    "",
            "",           duration(check.delay_s)};
  }
  return {check.signal,
          verdict,
          samples,
          amount(check.bias, check),
          figure_of(check.gain, 4),
          amount(check.largest, check),
          amount(check.tolerance, check),
          figure_of(check.gain_error, 2),
          amount(check.rms, check),
          std::isfinite(check.delay_s) ? duration(check.delay_s) : "-"};
}

std::string table_of(const MapCheck& check, std::size_t width) {
  TextTable table({{"signal"},
                   {"verdict"},
                   {"samples", true},
                   {"bias", true},
                   {"gain", true},
                   {"largest", true},
                   {"tolerance", true},
                   {"gain ±", true, NoRoom::left_out},
                   {"rms", true, NoRoom::left_out},
                   {"delay", true, NoRoom::left_out}},
                  width);
  for (const SignalCheck& signal : check.signals) {
    const Colour colour = signal.pass     ? Colour::green
                          : signal.tested ? Colour::red
                                          : Colour::yellow;
    table.add(cells_of(signal), paint(colour));
    const std::string reason = why(signal);
    if (!reason.empty()) table.add_line(reason);
  }
  return table.text();
}

void list(std::string& out, const char* what, const std::vector<std::string>& names,
          std::size_t width) {
  if (names.empty()) return;
  std::string text = what;
  for (const std::string& name : names) text += ' ' + name;
  out += paragraph(text, 0, width);
}

// What was by relation alone, and is more now.
std::string borne_out_text(const CheckedSession& checked, std::size_t width) {
  const BorneOut& found = checked.borne_out;
  std::string text;
  if (!found.signals.empty()) {
    std::string names;
    for (const std::string& name : found.signals) names += ' ' + name;
    text += paragraph("by relation alone until now, and borne out by these readings:" + names, 0,
                      width);
    if (checked.into.empty()) {
      text += paragraph("--into MAP writes this into the map as evidence of its own", 2, width);
    }
  }
  for (const std::string& series : found.partly) {
    text += paragraph("by relation, and borne out in part: " + series +
                          "; the others had no readings or do not pass",
                      0, width);
  }
  return text;
}

nlohmann::json number(double value) {
  return std::isfinite(value) ? nlohmann::json(value) : nlohmann::json(nullptr);
}

nlohmann::json misfits_json(const SignalCheck& check, const ReadingsOf& readings) {
  nlohmann::json all = nlohmann::json::array();
  for (const Misfit& misfit : check.misfits) {
    const UnfitReading reading = unfit(check, misfit);
    const auto value = [&](double figure, const std::string& word) {
      return check.is_state ? nlohmann::json(word) : number(figure);
    };
    all.push_back({{"reading", reading.reading},
                   {"t_s", static_cast<double>(reading.t_ns) / 1e9},
                   {"value", value(reading.value, reading.state)},
                   {"expected", value(reading.expected, reading.expected_state)},
                   {"kind", to_string(reading.kind)},
                   {"correct", correction_line(reading, readings)}});
  }
  return all;
}

}  // namespace

std::string check_as_text(const MapCheck& check, const CheckedSession& checked, std::size_t width) {
  std::string out = table_of(check, width);
  out += '\n' + misfits_text(check, checked, width);
  list(out, "not checked, no channel of that name:", check.signals_unchecked, width);
  list(out, "channels without a signal in the map:", check.channels_unchecked, width);
  out += borne_out_text(checked, width);
  const auto passed = std::ranges::count(check.signals, true, &SignalCheck::pass);
  out += std::to_string(passed) + " of " + std::to_string(check.signals.size()) +
         " checked signals pass";
  const auto untested = std::ranges::count(check.signals, false, &SignalCheck::tested);
  if (untested > 0) out += ", " + std::to_string(untested) + " were not tested";
  out += '\n';
  if (checked.own) out += paragraph(own_session_words, 0, width);
  return out;
}

std::string check_as_json(const MapCheck& check, const CheckedSession& checked) {
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
                        {"gain_error", number(signal.gain_error)},
                        {"rms", number(signal.rms)},
                        {"largest", number(signal.largest)},
                        {"deciding", number(signal.deciding)},
                        {"levels", signal.levels},
                        {"range", number(signal.range)},
                        {"delay_s", number(signal.delay_s)},
                        {"tolerance", number(signal.tolerance)},
                        {"pass", signal.pass},
                        {"tested", signal.tested}};
    if (const auto ucum = ucum_code(signal.unit); !ucum.empty()) item["ucum"] = ucum;
    item["reason"] =
        signal.reason.empty() ? nlohmann::json(nullptr) : nlohmann::json(signal.reason);
    item["unfit_readings"] = misfits_json(signal, {checked.capture, checked.session});
    signals.push_back(std::move(item));
  }
  const nlohmann::json out{{"format", "foundling-check"},
                           {"version", 1},
                           {"pass", pass},
                           {"same_session", checked.own},
                           {"signals", signals},
                           {"signals_without_channel", check.signals_unchecked},
                           {"channels_without_signal", check.channels_unchecked},
                           {"borne_out", checked.borne_out.signals}};
  return out.dump(2, ' ', false, nlohmann::json::error_handler_t::replace) + '\n';
}

}  // namespace foundling
