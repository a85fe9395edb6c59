// Decoded values as text on stdout: CSV a line a value, JSON lines, or a wide CSV with a column a
// signal at even steps of time.
#pragma once

#include <cstdint>
#include <memory>
#include <string>

#include "decoder/decode/decode.h"

namespace foundling {

class ValueWriter {
 public:
  virtual ~ValueWriter() = default;
  virtual void write(const DecodedValue& value) = 0;
  virtual void finish() {}
};

// `decoder` must outlive the writer.
[[nodiscard]] std::unique_ptr<ValueWriter> csv_writer(const Decoder& decoder);
[[nodiscard]] std::unique_ptr<ValueWriter> json_lines_writer(const Decoder& decoder);
// Each row holds the newest value at or before its time; nothing where there was none yet, or where
// the newest was no number (reserved).
[[nodiscard]] std::unique_ptr<ValueWriter> wide_writer(const Decoder& decoder,
                                                       std::int64_t step_ns);

[[nodiscard]] std::string seconds_text(std::int64_t t_ns);  // exact, no superfluous zeros
[[nodiscard]] std::string number_text(double value);        // at most 15 significant digits
[[nodiscard]] std::string csv_text(
    const std::string& text);  // quoted where CSV needs it (RFC 4180)

}  // namespace foundling
