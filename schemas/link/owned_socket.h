// A socket that is closed with its owner. handle() is -1 where the kernel gave none.
#pragma once

#include <sys/socket.h>
#include <unistd.h>

namespace foundling {

class OwnedSocket {
 public:
  OwnedSocket(int family, int type, int protocol) : handle_(::socket(family, type, protocol)) {}
  OwnedSocket(const OwnedSocket&) = delete;
  OwnedSocket& operator=(const OwnedSocket&) = delete;
  ~OwnedSocket() {
    if (handle_ >= 0) close(handle_);
  }
  [[nodiscard]] int handle() const { return handle_; }

 private:
  int handle_;
};

}  // namespace foundling
