// Readers of the lines about the map and about a message (fact_reader.h calls them).
#pragma once

#include <optional>

#include "schemas/signals/fact.h"
#include "schemas/signals/line_reader.h"

namespace foundling {

[[nodiscard]] std::optional<fact::Fact> read_board(LineReader& line);
[[nodiscard]] std::optional<fact::Fact> read_bit_rate(LineReader& line);
[[nodiscard]] std::optional<fact::Fact> read_data_bit_rate(LineReader& line);
[[nodiscard]] std::optional<fact::Fact> read_message(LineReader& line);
[[nodiscard]] std::optional<fact::Fact> read_selector(LineReader& line);
[[nodiscard]] std::optional<fact::Fact> read_counter(LineReader& line);
[[nodiscard]] std::optional<fact::Fact> read_checksum(LineReader& line);
[[nodiscard]] std::optional<fact::Fact> read_signal(LineReader& line);
[[nodiscard]] std::optional<fact::Fact> read_series(LineReader& line);

}  // namespace foundling
