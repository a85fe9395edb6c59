#include "schemas/values/text_scan.h"

#include <charconv>
#include <cmath>

namespace foundling {
namespace {

bool is_letter(char c) {
  const auto byte = static_cast<unsigned char>(c);
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || byte >= 0x80;
}

// "±" is no letter although its bytes look like some.
bool begins_with_sign(std::string_view text) { return text.substr(0, 2) == "±"; }

}  // namespace

void TextScan::skip_blanks() {
  while (at_ < text_.size() && (text_[at_] == ' ' || text_[at_] == '\t')) ++at_;
}

std::optional<double> TextScan::number() {
  std::string_view left = rest();
  const bool plus = left.size() > 1 && left[0] == '+' && left[1] != '-';
  if (plus) left.remove_prefix(1);
  double value = 0;
  const auto [end, failure] = std::from_chars(left.data(), left.data() + left.size(), value);
  // from_chars reads "nan" and "inf" too.
  if (failure != std::errc{} || !std::isfinite(value)) return std::nullopt;
  at_ += static_cast<std::size_t>(end - left.data()) + (plus ? 1 : 0);
  skip_blanks();
  return value;
}

std::string_view TextScan::peek_word() const {
  const std::string_view left = rest();
  if (left.substr(0, 1) == "%") return left.substr(0, 1);  // "0.05%rdg" has two words
  std::size_t length = 0;
  while (length < left.size() && !begins_with_sign(left.substr(length)) &&
         (is_letter(left[length]) || (length > 0 && left[length] == '-'))) {
    ++length;
  }
  return left.substr(0, length);
}

std::string_view TextScan::word() {
  const std::string_view found = peek_word();
  at_ += found.size();
  skip_blanks();
  return found;
}

bool TextScan::take(std::string_view sign) {
  if (rest().substr(0, sign.size()) != sign) return false;
  at_ += sign.size();
  skip_blanks();
  return true;
}

std::string_view TextScan::unit() {
  const std::string_view left = rest();
  std::size_t length = 0;
  while (length < left.size() && !begins_with_sign(left.substr(length)) &&
         std::string_view(" \t+,").find(left[length]) == std::string_view::npos) {
    ++length;
  }
  at_ += length;
  skip_blanks();
  return left.substr(0, length);
}

std::string TextScan::complaint(std::string_view expected) const {
  constexpr std::size_t longest = 20;
  std::string found;
  for (const char c : rest().substr(0, longest)) {
    found += static_cast<unsigned char>(c) < 0x20 ? '?' : c;
  }
  return "expected " + std::string(expected) + ", found " +
         (found.empty() ? "nothing" : '"' + found + '"') + " at column " + std::to_string(column());
}

}  // namespace foundling
