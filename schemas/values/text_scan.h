// Reads a short specification word by word: a number, a unit, a keyword, with the column of what
// comes next for messages. Blanks between words mean nothing. Owns nothing: the text must outlive
// it.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

namespace foundling {

class TextScan {
 public:
  explicit TextScan(std::string_view text) : text_(text) { skip_blanks(); }

  [[nodiscard]] bool at_end() const { return at_ == text_.size(); }
  [[nodiscard]] std::size_t column() const { return at_ + 1; }  // in bytes, from 1
  [[nodiscard]] std::string_view rest() const { return text_.substr(at_); }

  // A finite number with a point for decimals; a leading plus is read.
  std::optional<double> number();
  // Letters, also beyond ASCII, and '-' after the first: "mV", "°C", "table"; or "%" alone. Empty:
  // no word.
  std::string_view word();
  // The same, left where it is.
  [[nodiscard]] std::string_view peek_word() const;
  // One of these characters or signs ("/", "±"), taken if it is next.
  bool take(std::string_view sign);
  // `l/min` is one unit although '/' is no letter; everything up to the next blank, '+' or ','.
  std::string_view unit();

  // `expected X, found "Y" at column N`, for whoever could not go on here.
  [[nodiscard]] std::string complaint(std::string_view expected) const;

 private:
  void skip_blanks();
  std::string_view text_;
  std::size_t at_ = 0;
};

}  // namespace foundling
