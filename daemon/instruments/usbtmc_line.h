// An instrument on USB, by the kernel's USBTMC device /dev/usbtmcN (linux/usb/tmc.h): one write is
// one message, one read brings one. The driver does not poll, so a read blocks up to the deadline.
#pragma once

#include <memory>
#include <string>

#include "daemon/instruments/instrument_line.h"

namespace foundling {

class UsbtmcLine final : public InstrumentLine {
 public:
  static Result<std::unique_ptr<InstrumentLine>> open(const std::string& path);
  explicit UsbtmcLine(int descriptor) : descriptor_(descriptor) {}
  ~UsbtmcLine() override;

  Result<void> send(std::string_view text, Deadline until) override;
  Result<std::string> receive(Deadline until) override;
  void discard() override {}  // a message is read whole, and a late one cleared away

 private:
  void set_timeout(Deadline until) const;
  Error fault(int error) const;

  const int descriptor_;
};

}  // namespace foundling
