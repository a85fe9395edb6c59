// Readers of the lines about a signal (fact_reader.h calls them).
#pragma once

#include <optional>

#include "schemas/signals/fact.h"
#include "schemas/signals/line_reader.h"

namespace foundling {

[[nodiscard]] std::optional<fact::Fact> read_on(LineReader& line);
[[nodiscard]] std::optional<fact::Fact> read_bits(LineReader& line);
[[nodiscard]] std::optional<fact::Fact> read_value(LineReader& line);
[[nodiscard]] std::optional<fact::Fact> read_point(LineReader& line);
[[nodiscard]] std::optional<fact::Fact> read_state(LineReader& line);
[[nodiscard]] std::optional<fact::Fact> read_reserved(LineReader& line);
[[nodiscard]] std::optional<fact::Fact> read_status(LineReader& line);
[[nodiscard]] std::optional<fact::Fact> read_delay(LineReader& line);
[[nodiscard]] std::optional<fact::Fact> read_time_constant(LineReader& line);
[[nodiscard]] std::optional<fact::Fact> read_seen(LineReader& line);

}  // namespace foundling
