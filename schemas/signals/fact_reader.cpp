#include "schemas/signals/fact_reader.h"

#include <algorithm>
#include <vector>

#include "schemas/signals/message_facts.h"
#include "schemas/signals/place_facts.h"
#include "schemas/signals/signal_facts.h"
#include "schemas/values/utf8.h"

namespace foundling {

std::span<const Keyword> keywords() {
  static const std::vector<Keyword> table{
      {"board", Level::map, false, read_board},
      {"bit-rate", Level::map, false, read_bit_rate},
      {"data-bit-rate", Level::map, false, read_data_bit_rate},
      {"message", Level::map, true, read_message},
      {"selector", Level::message, false, read_selector},
      {"counter", Level::message, false, read_counter},
      {"checksum", Level::message, false, read_checksum},
      {"signal", Level::message, true, read_signal},
      {"series", Level::message, true, read_series},
      {"on", Level::signal, false, read_on},
      {"bits", Level::signal, false, read_bits},
      {"value", Level::signal, false, read_value},
      {"point", Level::signal, false, read_point},
      {"state", Level::signal, false, read_state},
      {"reserved", Level::signal, false, read_reserved},
      {"status", Level::signal, false, read_status},
      {"delay", Level::signal, false, read_delay},
      {"time-constant", Level::signal, false, read_time_constant},
      {"where", Level::signal, false, read_where},
      {"seen", Level::signal, false, read_seen},
  };
  return table;
}

std::span<const std::string> keyword_words() {
  static const std::vector<std::string> words = [] {
    std::vector<std::string> all;
    for (const Keyword& keyword : keywords()) all.push_back(keyword.word);
    all.emplace_back("note");
    all.emplace_back("pin");
    return all;
  }();
  return words;
}

const Keyword* find_keyword(std::string_view word) {
  const auto at = std::ranges::find(keywords(), word, &Keyword::word);
  return at == keywords().end() ? nullptr : &*at;
}

std::optional<fact::Fact> read_note(LineReader& line) {
  auto text = line.free_text(line.rest(), "a note");
  if (!text) return {};
  if (text->empty()) {
    line.fail(line.peek(), "the note's text");
    return {};
  }
  return fact::Note{*std::move(text)};
}

}  // namespace foundling
