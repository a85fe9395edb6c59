// Sends CAN frames on one interface. Used by `foundling demo --transmit` alone: nothing else in
// Foundling sends.
#pragma once

#include "schemas/values/frame.h"
#include "schemas/values/result.h"
#include "tools/can_interface.h"

namespace foundling {

class CanSender {
 public:
  static Result<CanSender> open(const CanInterface& interface);
  CanSender(CanSender&& other) noexcept;
  CanSender& operator=(CanSender&& other) noexcept;
  ~CanSender();

  // Returns when the kernel has taken the frame. A full queue is waited for, up to ten seconds:
  // then nobody is acknowledging. Classical frames only.
  Result<void> send(const Frame& frame);

 private:
  CanSender(int socket, std::string name) : socket_(socket), name_(std::move(name)) {}
  int socket_;
  std::string name_;
};

}  // namespace foundling
