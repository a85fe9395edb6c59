// Changes to a recording of the invented tractor's board, as a fault or new firmware would make
// them: its checksums are made right again.
#pragma once

#include <cstdint>
#include <functional>
#include <random>
#include <span>

#include "tests/against/steady_board.h"

namespace foundling::test {

using Row = std::span<std::uint8_t>;

[[nodiscard]] MessageSeries& message(Messages& messages, std::uint32_t number);

// Changes the payload of frame i of a message, then sets its checksum.
void edit(Messages& messages, std::uint32_t number,
          const std::function<void(std::size_t i, Row row)>& change);
// Keeps the frames for which this holds.
void keep(MessageSeries& series, const std::function<bool(std::size_t i)>& wanted);
// Every payload `length` bytes long.
void shorten(MessageSeries& series, std::uint8_t length);
// Each frame at another time; put in order again.
void retime(MessageSeries& series, const std::function<double(std::size_t i, double t_s)>& when);
// A message of its own, with frames at these times and payloads.
void add_message(Messages& messages, std::uint32_t number, const std::vector<double>& times_s,
                 const std::function<void(std::size_t i, Row row)>& fill);
// Times at random, so many a second on average, in the recording's own time.
[[nodiscard]] std::vector<double> random_times(const Messages& messages, double rate,
                                               std::mt19937_64& random);
[[nodiscard]] double start_s(const Messages& messages);

}  // namespace foundling::test
