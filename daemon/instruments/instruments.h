// All instruments of the configuration, each asked by a thread of its own, so that none holds up
// another, nor the bus. They share the queue with the recorder, nothing else.
#pragma once

#include <cstdint>
#include <memory>
#include <vector>

#include "daemon/instruments/instrument_settings.h"
#include "daemon/record_queue.h"

namespace foundling {

class Instruments {
 public:
  // Readings are on the time line that starts at origin_boot_ns. The queue must outlive this.
  Instruments(const std::vector<InstrumentSettings>& settings, std::int64_t origin_boot_ns,
              RecordQueue& queue);
  ~Instruments();
  Instruments(const Instruments&) = delete;
  Instruments& operator=(const Instruments&) = delete;

  void stop();  // and waits for the threads; before the queue is closed

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace foundling
