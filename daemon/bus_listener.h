// Listens to one interface in the event loop: reads batches as they come, notices when the
// interface goes down or away and when it is back, opens it anew with growing waits, tells the
// recorder.
#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <string>

#include "daemon/frame_source.h"
#include "daemon/interface_state.h"
#include "daemon/record_queue.h"
#include "daemon/session_time.h"
#include "schemas/values/result.h"

namespace boost::asio {
class io_context;
}

namespace foundling {

struct Bus {
  std::string interface;
  std::uint8_t number = 0;
  OpenSource open;
  ProbeInterface probe;
  std::string bring_up;  // the command, for messages
  // Puts a controller that left the bus back on it, so long after it did; none: never.
  std::function<Result<void>()> restart{};
  std::chrono::milliseconds restart_after{1000};
};

class BusListener {
 public:
  // All must outlive it. The source was opened by the caller, who answers for its failure.
  BusListener(boost::asio::io_context& loop, Bus bus, std::unique_ptr<FrameSource> source,
              SessionTime& time, RecordQueue& queue);
  ~BusListener();
  BusListener(const BusListener&) = delete;
  BusListener& operator=(const BusListener&) = delete;

  void start();
  void tick();  // once a second: drops that no frame told of, a link lost in silence, messages
  void stop();  // reads what is waiting, closes gaps

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace foundling
