#include "schemas/link/classical_switch.h"

#include <libsocketcan.h>

#include <cerrno>
#include <cstdio>
#include <cstdlib>

namespace foundling::classical {
namespace {

// The library's words go into memory while this lives. glibc's stderr is a variable that may be set
// ("Standard Streams" of its manual); C++ streams and loggers took theirs at the start and are
// not touched.
class KeptQuiet {
 public:
  KeptQuiet() : own_(stderr), memory_(open_memstream(&text_, &size_)) {
    if (memory_ != nullptr) stderr = memory_;
  }
  KeptQuiet(const KeptQuiet&) = delete;
  KeptQuiet& operator=(const KeptQuiet&) = delete;
  ~KeptQuiet() {
    stderr = own_;
    if (memory_ != nullptr) std::fclose(memory_);
    std::free(text_);
  }

 private:
  char* text_ = nullptr;
  std::size_t size_ = 0;
  FILE* own_;
  FILE* memory_;
};

template <typename Order>
int refusal_of(const Order& order) {
  const KeptQuiet quiet;
  errno = 0;
  if (order() == 0) return 0;
  return errno == 0 ? EIO : errno;
}

}  // namespace

int switch_on(const std::string& name) {
  return refusal_of([&] { return can_do_start(name.c_str()); });
}

int switch_off(const std::string& name) {
  return refusal_of([&] { return can_do_stop(name.c_str()); });
}

int set_mode(const std::string& name, can_ctrlmode mode) {
  return refusal_of([&] { return can_set_ctrlmode(name.c_str(), &mode); });
}

int set_timing(const std::string& name, can_bittiming timing) {
  return refusal_of([&] { return can_set_bittiming(name.c_str(), &timing); });
}

int set_restart_ms(const std::string& name, std::uint32_t restart_ms) {
  return refusal_of([&] { return can_set_restart_ms(name.c_str(), restart_ms); });
}

}  // namespace foundling::classical
