// What a plan's settings are as readings of the capture: as the plan says, or as the person types
// what the meter shows. Pure. Refuses what does not fit the channel or lies beyond its limits.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "decoder/bench/plan.h"
#include "schemas/values/meter_specification.h"
#include "schemas/values/result.h"
#include "schemas/values/sensor.h"
#include "tools/bench_run_book.h"

namespace foundling {

// How a channel is measured.
struct ChannelMeans {
  std::optional<Sensor> sensor;
  std::optional<MeterSpecification> meter;
  std::string instrument;  // the channel into which an instrument measures the same; empty: none
};
using MeansByChannel = std::map<std::string, ChannelMeans, std::less<>>;

class RunValues {
 public:
  // `in_capture`: the channels that the capture has already.
  RunValues(const bench::Plan& plan, MeansByChannel means, const std::vector<Channel>& in_capture);

  // Whether the plan's channels fit those of the capture; `file` is the plan's, for the place.
  [[nodiscard]] Result<void> check(const std::string& file) const;

  // Channels that an instrument records itself, as samples, are left out of the entries.
  [[nodiscard]] bool is_recorded_already(const std::string& channel) const;
  Result<std::vector<RunEntry>> as_set(const bench::Setting& setting) const;
  Result<std::vector<RunEntry>> as_typed(const bench::Setting& setting,
                                         const std::string& text) const;
  Result<std::vector<RunEntry>> at_rest(const bench::PlanChannel& channel) const;
  // An instrument's mean over the hold, as the channel's reading.
  Result<RunEntry> as_measured(const std::string& channel, const std::string& instrument,
                               const std::vector<Reading>& samples) const;

  [[nodiscard]] const ChannelMeans& means(const std::string& channel) const;
  // What source or decade have to be set to where a sensor stands between: "12.5 mV"; else empty.
  [[nodiscard]] std::string electrical_words(const bench::Setting& setting) const;

 private:
  [[nodiscard]] Channel channel_of(const bench::PlanChannel& plan, const std::string& name) const;
  [[nodiscard]] Result<void> check_limits(const bench::PlanChannel& plan,
                                          const RunEntry& entry) const;

  const bench::Plan& plan_;
  const MeansByChannel means_;
  std::map<std::string, Channel, std::less<>> known_;
};

}  // namespace foundling
