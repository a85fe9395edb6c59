// Invented boards with a row of cells, of which a few are moved one at a time on the bench.
#pragma once

#include <cstdint>
#include <vector>

#include "decoder/analysis/correlate.h"

namespace foundling::test {

enum class Row { pages, one_frame, identifiers };

struct SeriesWishes {
  Row row = Row::pages;
  int cells = 30;
  std::vector<int> moved{5, 12, 22};
  bool pack_voltage = true;  // the sum of the cells, read on a channel of the bench
  int empty_from = 1000;     // this member and those behind it read zero: no cell is connected
  int gap_every = 1000;      // one frame: after so many cells a byte is left out
  int misnumbered = 0;       // this moved cell's channel bears the number of another
  std::uint64_t seed = 1;
};

struct SeriesBoard {
  std::vector<MessageSeries> messages;
  std::vector<ChannelSeries> channels;
};

// Cells of 16 bits, 1 mV, big-endian. Pages: message 1B0, the page in byte 0 from 0, three cells in
// bytes 1..6. One frame: message 2A0, 64 bytes. Identifiers: 300, 301, ... with four cells each.
SeriesBoard make_series_board(const SeriesWishes& wishes);

}  // namespace foundling::test
