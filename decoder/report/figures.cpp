#include "decoder/report/figures.h"

#include <array>
#include <charconv>
#include <cmath>
#include <cstdio>

namespace foundling {
namespace {

std::string without_trailing_zeros(std::string text) {
  if (text.find('.') == std::string::npos) return text;
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text == "-0" ? "0" : text;
}

}  // namespace

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
  return text.data();
}

std::string place_text(const FieldPlace& place, bool with_bus) {
  std::string text;
  if (with_bus) text += "bus " + std::to_string(place.bus) + ' ';
  text += identifier_text(place.id) + ' ' + to_string(place.span);
  if (place.page) {
    text += " on page " + to_string(place.page->span) + " = " + std::to_string(place.page->value);
  }
  return text;
}

}  // namespace foundling
