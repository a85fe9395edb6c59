// Decoded values as text: CSV a line a value, JSON lines, or a wide CSV with a column a signal at
// even steps of time. A reserved code is never a number: its value is empty in CSV and null in
// JSON, which also says the code's word and the map's status of every signal.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <string_view>
#include <vector>

#include "decoder/decode/decode.h"
#include "tools/time_column.h"

namespace foundling {

class ValueWriter {
 public:
  // Takes finished text, some tens of kilobytes at a time.
  using Sink = std::function<void(std::string_view)>;

  virtual ~ValueWriter() = default;
  virtual void write(const DecodedValue& value) = 0;
  // Hands on what is complete, for somebody who watches.
  virtual void flush() = 0;
  // Nothing more comes.
  virtual void finish() { flush(); }
};

// Which of the decoder's fields are written, one flag each.
using Chosen = std::vector<bool>;

// The map and the decoder must outlive the writer.
[[nodiscard]] std::unique_ptr<ValueWriter> csv_writer(const Decoder& decoder, Chosen chosen,
                                                      ValueWriter::Sink sink, TimeColumn time = {});
// Always with the seconds of the session; `time` in UTC stands beside them.
[[nodiscard]] std::unique_ptr<ValueWriter> json_lines_writer(const Decoder& decoder, Chosen chosen,
                                                             ValueWriter::Sink sink,
                                                             TimeColumn time = {});
// Each row holds the newest value at or before its time; nothing where there was none yet, where
// the newest was no number (reserved), or where it is stale (decoder/decode/freshness.h). A time at
// which every value is stale has no row.
[[nodiscard]] std::unique_ptr<ValueWriter> wide_writer(const Decoder& decoder, const SignalMap& map,
                                                       Chosen chosen, std::int64_t step_ns,
                                                       ValueWriter::Sink sink,
                                                       TimeColumn time = {});

}  // namespace foundling
