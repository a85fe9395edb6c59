// A line over a descriptor that is a stream of bytes: a connected socket or a serial line.
#pragma once

#include <string>

#include "daemon/instruments/instrument_line.h"

namespace foundling {

class StreamLine final : public InstrumentLine {
 public:
  // Owns the descriptor, which does not block.
  StreamLine(int descriptor, const StopSign& stop) : descriptor_(descriptor), stop_(stop) {}
  ~StreamLine() override;

  Result<void> send(std::string_view text, Deadline until) override;
  Result<std::string> receive(Deadline until) override;
  void discard() override;

 private:
  Result<void> read_some();

  const int descriptor_;
  const StopSign& stop_;
  std::string waiting_;  // read, and not yet a whole line
};

}  // namespace foundling
