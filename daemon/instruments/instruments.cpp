#include "daemon/instruments/instruments.h"

#include <thread>

#include "daemon/instruments/instrument_poller.h"
#include "schemas/capture/session_clock.h"

namespace foundling {

struct Instruments::State {
  StopSign stop;
  std::vector<std::thread> threads;
};

Instruments::Instruments(const std::vector<InstrumentSettings>& settings,
                         std::int64_t origin_boot_ns, RecordQueue& queue)
    : state_(std::make_unique<State>()) {
  for (const InstrumentSettings& one : settings) {
    InstrumentReport report;
    report.now_ns = [origin_boot_ns] { return boottime_now_ns() - origin_boot_ns; };
    report.reading = [&queue](const Channel& channel, const Reading& reading) {
      return queue.add_reading(channel, reading);
    };
    report.state = [&queue](const InstrumentState& row) { queue.add_instrument(row); };
    state_->threads.emplace_back([one, report, stop = &state_->stop] {
      InstrumentPoller(one, line_opener(one, *stop), report, *stop).run();
    });
  }
}

Instruments::~Instruments() { stop(); }

void Instruments::stop() {
  state_->stop.raise();
  for (std::thread& thread : state_->threads) thread.join();
  state_->threads.clear();
}

}  // namespace foundling
