// The way to an instrument: lines out, lines in, with a deadline for each. Three kinds: raw TCP
// (port 5025 is IANA's scpi-raw), a serial line, and the kernel's USBTMC device. For one thread.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <string_view>

#include "daemon/instruments/instrument_settings.h"
#include "daemon/instruments/stop_sign.h"
#include "schemas/values/result.h"

namespace foundling {

class InstrumentLine {
 public:
  InstrumentLine() = default;
  InstrumentLine(const InstrumentLine&) = delete;
  InstrumentLine& operator=(const InstrumentLine&) = delete;
  virtual ~InstrumentLine() = default;

  // What goes wrong, here and below: `busy`, nothing in time (or told to stop), the connection
  // stands; `format`, more than any answer holds; `io`, the connection is gone.
  virtual Result<void> send(std::string_view text, Deadline until) = 0;  // with its line end
  virtual Result<std::string> receive(Deadline until) = 0;               // without it
  // Forgets what has come in already.
  virtual void discard() = 0;
};

inline constexpr std::size_t longest_answer = 4096;

using OpenLine = std::function<Result<std::unique_ptr<InstrumentLine>>(Deadline until)>;

// How to open what the settings name. `stop` must outlive the function and its lines.
[[nodiscard]] OpenLine line_opener(const InstrumentSettings& settings, const StopSign& stop);

// What is wrong with an address: "host:port" with the port left out or 1 to 65535; a path.
[[nodiscard]] std::string fault_of_address(LineKind kind, std::string_view address);
// Whether a serial line can have this speed.
[[nodiscard]] bool is_baud_rate(int baud);

}  // namespace foundling
