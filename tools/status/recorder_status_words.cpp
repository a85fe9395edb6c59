// A recorder's status as findings, text and JSON.
#include <algorithm>
#include <array>
#include <cstdio>
#include <nlohmann/json.hpp>
#include <string_view>

#include "decoder/report/paragraph.h"
#include "tools/status/recorder_status.h"

namespace foundling {
namespace {

std::string number(double value, int digits) {
  std::array<char, 40> text{};
  std::snprintf(text.data(), text.size(), "%.*g", digits, value);
  return text.data();
}

std::string bytes_in_words(std::uint64_t bytes) {
  constexpr std::array<std::string_view, 5> units{"B", "KiB", "MiB", "GiB", "TiB"};
  double value = static_cast<double>(bytes);
  std::size_t unit = 0;
  while (value >= 1024 && unit + 1 < units.size()) {
    value /= 1024;
    ++unit;
  }
  return number(value, 4) + ' ' + std::string(units[unit]);
}

std::string duration_in_words(double seconds) {
  if (seconds < 120) return number(seconds, 3) + " s";
  if (seconds < 2 * 3600) return number(seconds / 60, 3) + " min";
  if (seconds < 48.0 * 3600) return number(seconds / 3600, 3) + " h";
  return number(seconds / 86400, 3) + " days";
}

void add_line(std::string& text, std::string_view name, const std::string& value,
              std::size_t width) {
  constexpr std::size_t column = 14;
  std::string line = paragraph(value, column, width, 0);
  line.replace(0, name.size(), name);
  text += line;
}

std::string losses_in_words(const RecorderStatus& status) {
  if (status.gaps == 0) return "none";
  std::string text = std::to_string(status.frames_lost) + " frames in " +
                     std::to_string(status.gaps) + (status.gaps == 1 ? " gap" : " gaps");
  text += ", the last " + duration_in_words(status.last_gap_age_s.value_or(0)) + " before: ";
  return text + status.last_gap->why;
}

std::string instrument_in_words(const InstrumentState& one) {
  std::string text =
      one.name + ": " + one.state + ", " + std::to_string(one.readings) + " readings";
  if (one.refused > 0) text += ", " + std::to_string(one.refused) + " answers refused";
  if (!one.detail.empty()) text += " (" + one.detail + ')';
  return text;
}

nlohmann::json nullable(const std::optional<double>& value) {
  return value ? nlohmann::json(*value) : nlohmann::json(nullptr);
}

}  // namespace

std::vector<std::string> troubles(const RecorderStatus& status, const StatusLimits& limits) {
  constexpr double stuck_after_s = 10;  // a health row comes every second
  std::vector<std::string> found;
  if (!status.recording) found.emplace_back("no recorder is at work on this capture");
  if (status.recording && status.last_written_age_s.value_or(0) > stuck_after_s) {
    found.push_back("the recorder has stored nothing for " +
                    duration_in_words(*status.last_written_age_s) +
                    ": the disk is full or does not take writes");
  }
  if (status.recording && status.frames == 0)
    found.emplace_back("no frame has come in yet; `foundling bus silent` leads on");
  if (status.recording && status.last_frame_age_s.value_or(0) > limits.silent_after_s) {
    found.push_back("no frame for " + duration_in_words(*status.last_frame_age_s));
  }
  if (status.last_gap && status.last_gap_age_s.value_or(0) <= limits.losses_within_s) {
    found.push_back("frames were lost within the last " +
                    duration_in_words(limits.losses_within_s) + ": " + status.last_gap->why);
  }
  for (const InstrumentStatus& one : status.instruments) {
    if (!status.recording || one.last.state == "working") continue;
    found.push_back("instrument " + one.last.name + " is " + one.last.state +
                    (one.last.detail.empty() ? "" : ": " + one.last.detail));
  }
  if (status.recording && status.seconds_to_full &&
      *status.seconds_to_full < limits.least_hours_left * 3600) {
    found.push_back("the disk is full in " + duration_in_words(*status.seconds_to_full));
  }
  return found;
}

std::string status_text(const RecorderStatus& status, const std::vector<std::string>& troubles,
                        std::size_t width) {
  std::string text;
  const auto add = [&](std::string_view name, const std::string& value) {
    add_line(text, name, value, width);
  };
  add("capture", status.file + ", session " + std::to_string(status.session) +
                     (status.recording ? ", recording" : ", not recording"));
  add("frames", std::to_string(status.frames));
  for (const BusStatus& bus : status.buses) {
    std::string line = number(bus.frames_per_s, 4) + " frames/s";
    if (bus.load) line += ", load " + number(*bus.load * 100, 3) + " % without stuff bits";
    add("bus " + std::to_string(bus.bus), line);
  }
  if (status.last_frame_age_s) {
    add("last frame", duration_in_words(*status.last_frame_age_s) +
                          (status.recording ? " ago" : " before the recording ended"));
  }
  add("losses", losses_in_words(status));
  for (const InstrumentStatus& one : status.instruments) {
    add("instrument", instrument_in_words(one.last));
  }
  if (status.recording) {
    add("waiting", std::to_string(status.queued) + " frames, longest commit " +
                       number(status.longest_commit_s * 1000, 3) + " ms");
  }
  add("file", bytes_in_words(status.file_bytes));
  add("disk left",
      bytes_in_words(status.disk_left_bytes) +
          (status.seconds_to_full ? ", full in " + duration_in_words(*status.seconds_to_full)
                                  : std::string()));
  for (const std::string& trouble : troubles) add("look at", trouble);
  return text;
}

std::string status_json(const RecorderStatus& status, const std::vector<std::string>& troubles) {
  nlohmann::json buses = nlohmann::json::array();
  for (const BusStatus& bus : status.buses) {
    buses.push_back(
        {{"bus", bus.bus}, {"frames_per_s", bus.frames_per_s}, {"load", nullable(bus.load)}});
  }
  nlohmann::json instruments = nlohmann::json::array();
  for (const InstrumentStatus& one : status.instruments) {
    instruments.push_back({{"name", one.last.name},
                           {"state", one.last.state},
                           {"identity", one.last.identity},
                           {"readings", one.last.readings},
                           {"refused", one.last.refused},
                           {"detail", one.last.detail},
                           {"age_s", one.age_s}});
  }
  const nlohmann::json all = {{"format", "foundling-status"},
                              {"version", 1},
                              {"capture", status.file},
                              {"session", status.session},
                              {"recording", status.recording},
                              {"frames", status.frames},
                              {"frames_per_s", status.frames_per_s()},
                              {"buses", buses},
                              {"last_frame_age_s", nullable(status.last_frame_age_s)},
                              {"last_written_age_s", nullable(status.last_written_age_s)},
                              {"frames_lost", status.frames_lost},
                              {"gaps", status.gaps},
                              {"last_gap", status.last_gap ? nlohmann::json(status.last_gap->why)
                                                           : nlohmann::json(nullptr)},
                              {"last_gap_age_s", nullable(status.last_gap_age_s)},
                              {"instruments", instruments},
                              {"queued", status.queued},
                              {"longest_commit_s", status.longest_commit_s},
                              {"file_bytes", status.file_bytes},
                              {"disk_left_bytes", status.disk_left_bytes},
                              {"seconds_to_full", nullable(status.seconds_to_full)},
                              {"look_at", troubles}};
  return all.dump(2, ' ', false, nlohmann::json::error_handler_t::replace) + '\n';
}

}  // namespace foundling
