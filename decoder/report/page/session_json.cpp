// The session itself: what it is, how busy the bus was, what is missing.
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <map>
#include <nlohmann/json.hpp>

#include "decoder/report/bus_load.h"
#include "decoder/report/page/bus_timeline.h"
#include "decoder/report/page/page_pieces.h"
#include "decoder/report/proposals_fit.h"

namespace foundling::page {
namespace {

constexpr std::size_t load_stretches = 600;
constexpr std::size_t most_listed = 500;  // gaps and incidents; the rest is counted

// The last stretch ends with the session, and may be too short to say anything by itself.
double last_stretch_s(const PageInput& input, const Grid& grid) {
  const std::int64_t start = grid.start + grid.step * static_cast<std::int64_t>(grid.count - 1);
  return seconds(std::max(input.source.to_ns - start, grid.step / 10));
}

Json bus_json(const PageInput& input, const BusTimeline& timeline, const Grid& grid) {
  const double duration_s = seconds(input.source.to_ns - input.source.from_ns);
  Json json{{"bus", timeline.bus}, {"without_fd", timeline.without_fd}};
  const auto load = bus_load(*input.survey, timeline.bus, duration_s, input.source.bit_rate);
  json["load"] = load ? Json::array({figure_json(load->least), figure_json(load->most)}) : Json();
  Json frames = Json::array();
  Json least = Json::array();
  Json most = Json::array();
  for (std::size_t i = 0; i < grid.count; ++i) {
    const BusStretch& stretch = timeline.stretches[i];
    const double stretch_s = i + 1 < grid.count ? seconds(grid.step) : last_stretch_s(input, grid);
    frames.push_back(figure_json(static_cast<double>(stretch.frames) / stretch_s));
    if (input.source.bit_rate <= 0) continue;
    const double bits = stretch_s * static_cast<double>(input.source.bit_rate);
    least.push_back(figure_json(static_cast<double>(stretch.least_bits) / bits));
    most.push_back(figure_json(static_cast<double>(stretch.most_bits) / bits));
  }
  json["frames_a_second"] = std::move(frames);
  json["least"] = std::move(least);
  json["most"] = std::move(most);
  return json;
}

Json lost_json(const PageInput& input) {
  std::uint64_t frames = 0;
  Json list = Json::array();
  for (const LostStretch& lost : input.lost) {
    frames += lost.frames;
    if (list.size() == most_listed) continue;
    list.push_back({{"from", seconds(lost.from_ns)},
                    {"to", seconds(lost.to_ns)},
                    {"bus", lost.bus},
                    {"frames", lost.frames},
                    {"why", lost.why}});
  }
  return {{"stretches", input.lost.size()}, {"frames", frames}, {"list", std::move(list)}};
}

Json incidents_json(const PageInput& input) {
  std::map<std::string, std::uint64_t> counts;
  Json list = Json::array();
  for (const BusIncident& incident : input.incidents) {
    ++counts[incident.kind];
    if (list.size() == most_listed) continue;
    list.push_back({{"at", seconds(incident.t_ns)},
                    {"bus", incident.bus},
                    {"kind", incident.kind},
                    {"detail", incident.detail}});
  }
  Json json{{"total", input.incidents.size()}, {"list", std::move(list)}};
  json["counts"] = Json::array();
  for (const auto& [kind, count] : counts) {
    json["counts"].push_back({{"kind", kind}, {"count", count}});
  }
  return json;
}

}  // namespace

double seconds(std::int64_t t_ns) { return static_cast<double>(t_ns) / 1e9; }

Json figure_json(double value) {
  if (!std::isfinite(value)) return nullptr;
  std::array<char, 40> text{};
  std::snprintf(text.data(), text.size(), "%.7g", value);
  const double rounded = std::strtod(text.data(), nullptr);
  if (rounded == std::trunc(rounded) && std::abs(rounded) < 1e15) {
    return static_cast<std::int64_t>(rounded);  // 3 takes less room than 3.0
  }
  return rounded;
}

namespace {

// What to know of where the proposals come from; empty where they are the session's own.
std::string proposals_of(const PageInput& input) {
  if (input.correlation == nullptr) return {};
  return other_session(
      *input.correlation,
      searched_session(input.source.capture, input.source.session, input.messages, input.channels));
}

}  // namespace

Json source_json(const PageInput& input) {
  const PageSource& s = input.source;
  std::uint64_t frames = 0;
  for (const MessageSeries& message : input.messages) frames += message.size();
  std::uint64_t readings = 0;
  for (const ChannelSeries& channel : input.channels) readings += channel.readings.size();
  return {{"capture", s.capture},
          {"session", s.session},
          {"started", s.started},
          {"pack", s.pack},
          {"board", s.board},
          {"note", s.note},
          {"interface", s.interface},
          {"bit_rate", s.bit_rate},
          {"duration_s", seconds(s.to_ns - s.from_ns)},
          {"ended", s.ended},
          {"frames", frames},
          {"messages", input.messages.size()},
          {"channels", input.channels.size()},
          {"readings", readings},
          {"map", input.map_name},
          {"searched", input.correlation != nullptr},
          {"proposals_of", proposals_of(input)}};
}

Json buses_json(const PageInput& input) {
  const Grid grid =
      Grid::over(input.source.from_ns, input.source.to_ns, load_stretches, 1'000'000'000);
  Json json{{"from_s", seconds(grid.start)},
            {"step_s", seconds(grid.step)},
            {"count", grid.count},
            {"lost", lost_json(input)},
            {"incidents", incidents_json(input)}};
  json["buses"] = Json::array();
  for (const BusTimeline& timeline : bus_timelines(input.messages, grid)) {
    json["buses"].push_back(bus_json(input, timeline, grid));
  }
  return json;
}

}  // namespace foundling::page
