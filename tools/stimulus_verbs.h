// What `foundling stimulus` does once its command line is taken apart.
#pragma once

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "schemas/values/meter_specification.h"
#include "schemas/values/reading.h"
#include "schemas/values/result.h"
#include "schemas/values/sensor.h"

namespace foundling {

// A recorder's transaction is short; longer than this, something is stuck.
inline constexpr std::chrono::seconds stimulus_patience{10};

struct StimulusOrder {
  std::filesystem::path capture;
  std::int64_t given_ns = 0;  // when it was typed, CLOCK_BOOTTIME
  std::optional<double> uncertainty;
  std::optional<ChannelKind> kind;
  std::optional<std::string> at, offset;  // seconds, as typed
  std::optional<std::int64_t> session;
  std::optional<Sensor> sensor;
  std::optional<MeterSpecification> meter;
  std::optional<std::string> range, resolution;  // of the meter, as typed: "20V"
  bool withdraw = false, all = false, json = false;
  bool is_new = false;  // the channel or the word: no slip of the keyboard
};

[[nodiscard]] bool is_stimulus_verb(std::string_view word);

// `words` are those after the verb. Data goes to stdout, messages to stderr.
Result<void> run_stimulus_verb(const std::string& verb, const std::vector<std::string>& words,
                               const StimulusOrder& order);

}  // namespace foundling
