// Reads one line of a signal map word by word and reports what it expected where. Keeps byte
// offsets and works out columns only when there is something to report.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "schemas/signals/diagnostic.h"
#include "schemas/signals/signal_map.h"

namespace foundling {

struct Token {
  enum class Kind : std::uint8_t { word, quoted, symbol, unclosed, end };
  Kind kind = Kind::end;
  std::string_view source;  // as written
  std::string unquoted;     // of a quoted string: without quotes and escapes

  [[nodiscard]] std::string text() const {
    return kind == Kind::quoted ? unquoted : std::string(source);
  }
};

// Limits of what a person writes, in bytes: whatever keeps them, the formatter's lines keep the
// parser's limit too.
inline constexpr std::size_t longest_word = 255;        // a name, a state's word, a unit
inline constexpr std::size_t longest_free_text = 4000;  // a comment, a note, what was seen
inline constexpr std::size_t longest_line = 16384;

// Each reading member takes what it describes, or reports "expected <what>, found ..." and yields
// nothing; a line is given up at its first report.
class LineReader {
 public:
  LineReader(std::string_view line, int number, std::vector<Diagnostic>& diagnostics);

  [[nodiscard]] const Token& peek() const { return next_; }
  Token take();
  bool accept(std::string_view word);
  // `example`: what to suggest where the word is not like it.
  bool expect(std::string_view word, std::string_view example = {});
  // Whether a text keeps its limit; reports it where not.
  bool fits(const Token& token, std::string_view text, std::size_t limit, std::string_view what);
  // The line's end, or its comment. A second word there is reported.
  bool finish(std::string_view expected = "the end of the line");

  std::optional<std::string> text(std::string_view what);  // a plain word or a quoted string
  std::optional<std::string> word_of(std::string_view what, std::span<const std::string> allowed,
                                     const std::string& hint = {});
  std::optional<double> number(std::string_view what);
  std::optional<std::int64_t> integer(std::string_view what, std::int64_t low, std::int64_t high);
  std::optional<std::uint64_t> code(std::string_view what);    // 12 or 0x0C
  std::optional<CodeRange> code_range(std::string_view what);  // 12 or 12..15
  std::optional<std::uint64_t> hexadecimal(std::string_view what, std::uint64_t high);
  std::optional<Span> bits(std::string_view what);

  // The rest of the line as it stands, without spaces at its ends; comments are part of it.
  [[nodiscard]] std::string_view rest() const;
  // From next_ on, as one text; nothing where it is too long, which was reported.
  std::optional<std::string> free_text(std::string_view text, std::string_view what);

  // Where there is no suggestion, the word's characters may have one.
  void fail(const Token& token, std::string_view expected, std::string suggestion = {});
  void warn(const Token& token, std::string message, std::string suggestion = {});
  [[nodiscard]] TextPlace place_of(std::string_view part) const;
  [[nodiscard]] std::string_view comment() const { return comment_; }  // once at the end

 private:
  void scan();

  std::string_view line_;
  int number_;
  std::vector<Diagnostic>& diagnostics_;
  std::size_t at_ = 0;  // behind next_
  Token next_;
  std::string_view comment_;
  // What was taken last, if it was a text without quotes: it may have been meant to go on.
  std::string_view bare_text_;
};

// Letters of any script, digits, '_', '-' and '.': words that need no quotes.
[[nodiscard]] bool is_plain_word(std::string_view text);

}  // namespace foundling
