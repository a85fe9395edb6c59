// What SCPI (SCPI-99, on IEEE 488.2) lets us ask, and what an answer means. Pure.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace foundling {

// What is wrong with a query that somebody configured; empty: it only asks. Every part between
// semicolons is a header that ends in '?', without anything behind it: no command hides in a chain,
// nor in a parameter. And it is one of those that measure or read (scpi_headers.h): *TST?, *CAL?
// and CALibration:ALL? ask by doing.
[[nodiscard]] std::string fault_of_query(std::string_view query);

enum class Answer : std::uint8_t {
  value,
  overload,      // 9.9E37 or -9.9E37: beyond the range (SCPI-99 vol. 1, 7.2.1)
  not_a_number,  // 9.91E37
  garbled,       // anything else
};

struct ScpiAnswer {
  Answer kind = Answer::garbled;
  double value = 0;  // of Answer::value
};

// The n-th number (from 1) of an answer, whose parts are told apart by ',' or ';'. NR1, NR2 and NR3
// (IEEE 488.2, 8.7), perhaps with the unit behind that some instruments append.
[[nodiscard]] ScpiAnswer read_answer(std::string_view answer, int number = 1);

// Whether this may be an answer to *IDN?: maker, model, serial number, firmware, told apart by
// commas; and no number, as a late answer to another query would be.
[[nodiscard]] bool looks_like_identity(std::string_view answer);

// For messages and for the record: cut, and without control characters.
[[nodiscard]] std::string printable(std::string_view answer, std::size_t most = 60);

}  // namespace foundling
