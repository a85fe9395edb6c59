#include "decoder/report/figures.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <string_view>

#include "decoder/report/page_number.h"
#include "schemas/values/payload_id.h"

namespace foundling {
namespace {

std::string without_trailing_zeros(std::string text) {
  if (text.find('.') == std::string::npos) return text;
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text == "-0" ? "0" : text;
}

struct Prefix {
  const char* letter;
  double factor;
};

constexpr std::array<Prefix, 6> prefixes{
    {{"G", 1e9}, {"M", 1e6}, {"k", 1e3}, {"", 1}, {"m", 1e-3}, {"µ", 1e-6}}};

// SI units that are written with prefixes; kPa, °C and what else a map may call a unit stay as
// they are.
bool takes_prefix(const std::string& unit) {
  static const std::array<std::string_view, 12> known{"V",  "A",  "Ω", "ohm", "W", "Hz",
                                                      "Ah", "Wh", "C", "J",   "s", "m"};
  return std::find(known.begin(), known.end(), unit) != known.end();
}

Prefix prefix_for(double size, const std::string& unit) {
  if (!takes_prefix(unit) || !(size > 0) || std::isinf(size)) return {"", 1};
  // Rounding may carry 0.99999 mV over to 1 mV: so much is as good as the next prefix.
  constexpr double as_good = 0.9999995;
  for (const Prefix& prefix : prefixes) {
    if (size >= prefix.factor * as_good) return prefix;
  }
  return prefixes.back();
}

std::string fixed(double value, int places) {
  std::array<char, 400> text{};
  std::snprintf(text.data(), text.size(), "%.*f", std::clamp(places, 0, 12), value);
  return text.data();
}

int magnitude_of(double value) { return static_cast<int>(std::floor(std::log10(std::abs(value)))); }

std::string with_unit(const std::string& number, const Prefix& prefix, const std::string& unit) {
  const std::string whole = prefix.letter + unit;
  return whole.empty() ? number : number + ' ' + whole;
}

}  // namespace

std::string engineering(double value, const std::string& unit, int digits) {
  const Prefix prefix = prefix_for(std::abs(value), unit);
  const double scaled = value / prefix.factor;
  if (scaled == 0 || !std::isfinite(scaled) || std::abs(magnitude_of(scaled)) > 8) {
    return with_unit(figure(scaled, digits), prefix, unit);
  }
  return with_unit(fixed(scaled, digits - 1 - magnitude_of(scaled)), prefix, unit);
}

std::string plus_minus(double value, double uncertainty, const std::string& unit) {
  const Prefix prefix = prefix_for(value == 0 ? std::abs(uncertainty) : std::abs(value), unit);
  const double scaled = value / prefix.factor;
  const double around = uncertainty / prefix.factor;
  if (!(around > 0) || !std::isfinite(around)) return with_unit(exact_figure(scaled), prefix, unit);
  const int places = 1 - magnitude_of(around);
  const std::string number = scaled == 0 ? "0" : fixed(scaled, places);
  return with_unit(number + " ± " + fixed(around, places), prefix, unit);
}

std::string percent(double share, int digits) { return figure(share * 100, digits) + " %"; }

std::string figure(double value, int digits) {
  if (std::isnan(value)) return "?";
  if (std::isinf(value)) return value > 0 ? "inf" : "-inf";
  if (value == 0) return "0";
  const int magnitude = static_cast<int>(std::floor(std::log10(std::abs(value))));
  std::array<char, 64> text{};
  if (magnitude < -5 || magnitude >= 9) {
    std::snprintf(text.data(), text.size(), "%.*e", digits - 1, value);
    return text.data();
  }
  const int places = digits - 1 - magnitude;
  std::snprintf(text.data(), text.size(), "%.*f", places > 0 ? places : 0, value);
  return without_trailing_zeros(text.data());
}

std::string exact_figure(double value) {
  if (std::isnan(value)) return "?";
  std::array<char, 64> text{};
  const auto [end, failure] = std::to_chars(text.data(), text.data() + text.size(), value);
  return failure == std::errc{} ? std::string(text.data(), end) : figure(value, 12);
}

std::string duration(double seconds) {
  const double size = std::abs(seconds);
  if (size >= 1 || seconds == 0) return figure(seconds, 3) + " s";
  if (size >= 1e-3) return figure(seconds * 1e3, 3) + " ms";
  return figure(seconds * 1e6, 3) + " µs";
}

std::string identifier_text(CanId id) {
  std::array<char, 16> text{};
  std::snprintf(text.data(), text.size(), id.is_extended() ? "%08X" : "%03X", id.number());
  std::string all = text.data();
  if (is_payload(id)) all += " payload";
  if (transport_of(id).kind == Transport::Kind::addressed_segments) {
    std::snprintf(text.data(), text.size(), " %02X", transport_of(id).address);
    all += text.data();
  }
  return all;
}

// A data identifier is known in hexadecimal; pages are counted.
std::string page_number_text(std::uint64_t page) {
  if (page <= 0xFFFF) return std::to_string(page);
  std::array<char, 20> text{};
  std::snprintf(text.data(), text.size(), "0x%llX", static_cast<unsigned long long>(page));
  return text.data();
}

std::string place_text(const FieldPlace& place, bool with_bus) {
  std::string text;
  if (with_bus) text += "bus " + std::to_string(place.bus) + ' ';
  text += identifier_text(place.id) + ' ' + to_string(place.span);
  if (place.page) {
    text += " on page " + to_string(place.page->span) + " = " + page_number_text(place.page->value);
  }
  return text;
}

}  // namespace foundling
