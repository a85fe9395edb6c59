// Makes a fact from one line of a signal map. Reports what it cannot read; guesses nothing.
#pragma once

#include <optional>
#include <span>
#include <string>

#include "schemas/signals/fact.h"
#include "schemas/signals/line_reader.h"

namespace foundling {

enum class Level : std::uint8_t { map, message, signal };

struct Keyword {
  std::string word;
  Level level;  // what it is said about
  bool opens;   // a message, signal or series: lines below it belong to it
  std::optional<fact::Fact> (*read)(LineReader&);  // the keyword itself is taken already
};

// `note` is not among them: it goes with the level of its indentation.
[[nodiscard]] std::span<const Keyword> keywords();
[[nodiscard]] std::span<const std::string> keyword_words();  // all, `note` included
[[nodiscard]] const Keyword* find_keyword(std::string_view word);

[[nodiscard]] std::optional<fact::Fact> read_note(LineReader& line);

}  // namespace foundling
