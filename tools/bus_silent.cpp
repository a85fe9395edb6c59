#include "tools/bus_silent.h"

#include <charconv>
#include <cmath>
#include <iostream>
#include <memory>

#include "schemas/capture/capture_reader.h"
#include "schemas/values/unit.h"
#include "tools/bus/silent_board.h"
#include "tools/command.h"
#include "tools/command_line.h"

namespace foundling {
namespace {

struct Wanted {
  std::string current, limit, capture, channel;
  SilentBoard board;
};

Error usage(std::string message) { return {ErrorCode::usage, std::move(message)}; }

// "85mA", "0.085" or "0.085 A" in A.
Result<double> amperes(std::string text, const char* option) {
  const std::string typed = text;
  double factor = 1;
  const auto take_end = [&](std::string_view end) {
    if (!text.ends_with(end)) return false;
    text.resize(text.size() - end.size());
    return true;
  };
  if (take_end("mA")) {
    factor = 1e-3;
  } else {
    (void)take_end("A");
  }
  (void)take_end(" ");
  double value = 0;
  const auto [stop, fault] = std::from_chars(text.data(), text.data() + text.size(), value);
  const bool whole = fault == std::errc() && stop == text.data() + text.size();
  if (whole && std::isfinite(value) && value >= 0) return value * factor;
  return usage(std::string(option) + ": expected a current like 85mA or 2mA..85mA, found \"" +
               typed + '"');
}

Result<SupplyCurrent> typed_current(const std::string& text) {
  const auto dots = text.find("..");
  const auto least = amperes(text.substr(0, dots), "--current");
  if (!least) return least.error();
  if (dots == std::string::npos) return SupplyCurrent{*least, *least, {}};
  const auto most = amperes(text.substr(dots + 2), "--current");
  if (!most) return most.error();
  if (*most < *least) return usage("--current: the range \"" + text + "\" goes down");
  return SupplyCurrent{*least, *most, {}};
}

// The last minute of a channel of the last session that has it.
Result<SupplyCurrent> recorded_current(const Wanted& wanted) {
  auto reader = CaptureReader::open(wanted.capture);
  if (!reader) return reader.error();
  const auto sessions = reader->sessions();
  if (!sessions) return sessions.error();
  for (auto row = sessions->rbegin(); row != sessions->rend(); ++row) {
    const auto all = reader->channel_series(row->id);
    if (!all) return all.error();
    for (const ChannelSeries& series : *all) {
      if (series.channel.name != wanted.channel || series.readings.empty()) continue;
      const auto to_ampere = unit_conversion(series.channel.unit, "A");
      if (!to_ampere) {
        return usage("channel " + wanted.channel + " is in " + series.channel.unit +
                     ", and no current");
      }
      constexpr std::int64_t minute_ns = 60'000'000'000;
      std::vector<TimedCurrent> readings;
      for (const Reading& one : series.readings) {
        if (one.t_ns < series.readings.back().t_ns - minute_ns) continue;
        readings.push_back({one.t_ns, std::abs(to_ampere->value(one.value))});
      }
      return *supply_current(readings);
    }
  }
  return Error{ErrorCode::not_found,
               wanted.capture + ": no reading of channel \"" + wanted.channel + '"'};
}

Result<void> run(Wanted& wanted) {
  SilentBoard& board = wanted.board;
  if (!wanted.current.empty()) {
    auto current = typed_current(wanted.current);
    if (!current) return current.error();
    board.current = *current;
  } else if (!wanted.capture.empty()) {
    auto current = recorded_current(wanted);
    if (!current) return current.error();
    board.current = *current;
  }
  if (!wanted.limit.empty()) {
    const auto limit = amperes(wanted.limit, "--limit");
    if (!limit) return limit.error();
    board.limit_a = *limit;
  }
  std::cout << explain_silence(board);
  return {};
}

void declare_options(CommandLine sub, Wanted& wanted) {
  auto current =
      sub.add_option(
             "--current", wanted.current,
             "Of the board's supply: 35mA, or its minimum..maximum over ten seconds, 2mA..85mA")
          .type_name("A");
  auto capture =
      sub.add_option("--capture", wanted.capture,
                     "Takes the current's last minute from there instead, as an instrument read it")
          .type_name("CAPTURE")
          .excludes(current);
  auto channel = sub.add_option("--channel", wanted.channel, "Its channel in that capture")
                     .type_name("CHANNEL")
                     .needs(capture);
  capture.needs(channel);
  sub.add_option("--limit", wanted.limit, "Of current, that the supply is set to").type_name("A");
  auto high = sub.add_option("--high", wanted.board.high_v,
                             "CAN high against the board's ground, power on, in V")
                  .type_name("V")
                  .check(number_between(-60, 60));
  auto low = sub.add_option("--low", wanted.board.low_v, "CAN low, the same way")
                 .type_name("V")
                 .check(number_between(-60, 60))
                 .needs(high);
  high.needs(low);
  sub.add_option("--between", wanted.board.between_ohm, "Between the two wires, power off, in ohm")
      .type_name("OHM")
      .check(number_between(0, any_size));
}

}  // namespace

void declare_bus_silent(CommandLine app, std::function<int()>& chosen) {
  CommandLine sub =
      app.add_verb("silent", "Nothing is heard: what your measurements say, and what to try");
  auto wanted = std::make_shared<Wanted>();
  declare_options(sub, *wanted);
  sub.when_chosen([wanted, &chosen] {
    chosen = [wanted] {
      const auto done = run(*wanted);
      if (done) return exit_good;
      std::cerr << "foundling bus silent: error: " << done.error().message << '\n';
      return exit_trouble;
    };
  });
  sub.footer(
      "Give what you have measured; it asks for the rest. Current-limited supply, the pack's\n"
      "high-voltage path open, and no probe near it; local codes come first. It sends nothing.\n"
      "\n"
      "Example: the board draws 2 to 85 mA by turns, and the pair rests at ground\n"
      "  foundling bus silent --current 2mA..85mA --high 0.02 --low 0.01");
}

}  // namespace foundling
