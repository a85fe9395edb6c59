// Asks one instrument, again and again, until told to stop: opens its line, has it identify itself,
// asks each query when it is due. For a thread of its own; reports by the functions given.
//
// An answer that comes late must not pass for the answer to the next query. So after every silence
// and every garbled answer it asks *IDN? and throws away what comes before an identity; only then
// goes on. A line that stays silent is opened anew, with growing waits.
#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "daemon/commit_policy.h"
#include "daemon/instruments/instrument_line.h"
#include "daemon/instruments/instrument_settings.h"
#include "daemon/instruments/scpi.h"
#include "daemon/instruments/stop_sign.h"
#include "schemas/capture/rows.h"

namespace foundling {

struct InstrumentReport {
  std::function<std::int64_t()> now_ns;                         // on the session's time line
  std::function<bool(const Channel&, const Reading&)> reading;  // false: there was no room
  std::function<void(const InstrumentState&)> state;            // when it changed, and now and then
};

class InstrumentPoller {
 public:
  InstrumentPoller(InstrumentSettings settings, OpenLine open, InstrumentReport report,
                   const StopSign& stop);
  void run();

 private:
  using Clock = std::chrono::steady_clock;

  bool get_ready();  // line open and in step; false: wait and try again
  Result<void> identify();
  void ask(std::size_t number);
  void take(const InstrumentQuery& query, const std::string& answer, std::int64_t t_ns);
  void refuse(const char* state, std::string why);
  void fail(const Error& error, const std::string& doing);
  void become(const char* state, std::string detail);
  void tell(bool at_once);
  [[nodiscard]] Deadline answer_until() const;
  [[nodiscard]] std::size_t next_due() const;

  const InstrumentSettings settings_;
  const OpenLine open_;
  const InstrumentReport report_;
  const StopSign& stop_;
  std::unique_ptr<InstrumentLine> line_;
  bool in_step_ = false;
  int misses_ = 0;  // silences in a row
  Backoff backoff_{std::chrono::milliseconds(250), std::chrono::milliseconds(10'000)};
  std::vector<Clock::time_point> due_;  // by query
  InstrumentState state_, told_;
  Clock::time_point told_at_;
};

}  // namespace foundling
