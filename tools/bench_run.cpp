#include "tools/bench_run.h"

#include <iostream>
#include <memory>
#include <string>
#include <vector>

#include "decoder/bench/plan_text.h"
#include "tools/bench_run_walk.h"
#include "tools/command.h"
#include "tools/command_line.h"
#include "tools/exchange/sensor_words.h"
#include "tools/signal_file.h"
#include "tools/text_file.h"
#include "tools/walk_lock.h"

namespace foundling {
namespace {

struct Wanted {
  std::string plan, capture, map, script, after;
  std::vector<std::string> sensors, meters, instruments;  // CHANNEL=...
  bool anew = false;
};

Error usage(std::string message) { return {ErrorCode::usage, std::move(message)}; }

// Calls `take` with what stands behind CHANNEL= for every channel that is meant: one, or all of a
// series.
template <typename Take>
Result<void> each_channel(const bench::Plan& plan, const std::vector<std::string>& words,
                          const char* option, Take take) {
  for (const std::string& word : words) {
    const std::size_t mark = word.find('=');
    if (mark == std::string::npos || mark == 0) {
      return usage(std::string(option) + ": expected CHANNEL=..., found \"" + word + '"');
    }
    const std::string name = word.substr(0, mark);
    std::vector<std::string> names;
    for (const bench::PlanChannel& channel : plan.channels) {
      if (channel.name == name) names = bench::members(channel);
    }
    if (names.empty() && bench::find_channel(plan, name) != nullptr) names = {name};
    if (names.empty()) {
      return usage(std::string(option) + ": the plan has no channel \"" + name + '"');
    }
    for (const std::string& one : names) {
      if (auto taken = take(one, word.substr(mark + 1)); !taken) {
        return Error{taken.error().code, std::string(option) + ": " + taken.error().message};
      }
    }
  }
  return {};
}

Result<MeansByChannel> means_of(const bench::Plan& plan, const Wanted& wanted,
                                const std::vector<Channel>& in_capture) {
  MeansByChannel means;
  auto done = each_channel(plan, wanted.sensors, "--sensor",
                           [&](const std::string& name, const std::string& text) -> Result<void> {
                             auto sensor = sensor_of_words(text);
                             if (!sensor) return sensor.error();
                             means[name].sensor = std::move(sensor).value();
                             return {};
                           });
  if (!done) return done.error();
  done = each_channel(plan, wanted.meters, "--meter",
                      [&](const std::string& name, const std::string& text) -> Result<void> {
                        auto meter = parse_meter_specification(text);
                        if (!meter) return meter.error();
                        means[name].meter = std::move(meter).value();
                        return {};
                      });
  if (!done) return done.error();
  done = each_channel(plan, wanted.instruments, "--measured-by",
                      [&](const std::string& name, const std::string& instrument) -> Result<void> {
                        for (const Channel& channel : in_capture) {
                          if (channel.name != instrument) continue;
                          means[name].instrument = instrument;
                          return {};
                        }
                        return usage("the capture has no channel \"" + instrument + '"');
                      });
  if (!done) return done.error();
  return means;
}

Result<bench::Plan> load_plan(const std::string& path) {
  const auto text = read_text_file(path);
  if (!text) return text.error();
  bench::PlanText read = bench::read_plan(*text);
  std::cerr << describe(read.diagnostics, path, *text);
  if (!read.ok())
    return Error{ErrorCode::format, path + ": a plan with errors is used for nothing"};
  if (read.plan.steps.empty()) {
    return usage(path + ": has no steps; `foundling bench plan` draws them");
  }
  return std::move(read.plan);
}

Result<void> run(const Wanted& wanted) {
  const auto plan = load_plan(wanted.plan);
  if (!plan) return plan.error();
  RunBook book(wanted.capture, wanted.after);
  const auto channels = book.channels();
  if (!channels) return channels.error();
  const auto alone = WalkLock::take(wanted.capture);
  if (!alone) return alone.error();
  auto means = means_of(*plan, wanted, *channels);
  if (!means) return means.error();
  const RunValues values(*plan, std::move(means).value(), *channels);
  if (auto good = values.check(wanted.plan); !good) return good;
  SignalFile map;
  std::unique_ptr<LiveChannels> live;
  if (!wanted.map.empty()) {
    auto loaded = load_signal_file(wanted.map, std::cerr);
    if (!loaded) return loaded.error();
    map = std::move(loaded).value();
    std::vector<std::string> names;
    for (const bench::PlanChannel& channel : plan->channels) {
      for (std::string& name : bench::members(channel)) names.push_back(std::move(name));
    }
    auto opened = LiveChannels::open(wanted.capture, map.read.map, names);
    if (!opened) return opened.error();
    live = std::move(opened).value();
  }
  const auto input = RunInput::open(wanted.script);
  if (!input) return input.error();
  return BenchWalk(*plan, bench::write_plan(*plan), values, book, **input, live.get())
      .run(wanted.anew);
}

void declare_means(CommandLine app, Wanted& wanted) {
  app.add_option(
         "--sensor", wanted.sensors,
         "What stands between a channel and its meter, as CHANNEL=SENSOR: values may then be "
         "typed in mV or ohm, and it shows what they mean; sensors as for foundling stimulus")
      .type_name("CHANNEL=TEXT")
      .one_value_each();
  app.add_option("--meter", wanted.meters,
                 "A channel's meter, as CHANNEL=SPECIFICATION: \"pack_current=0.05% + 2 digits\"")
      .type_name("CHANNEL=TEXT")
      .one_value_each();
  app.add_option(
         "--measured-by", wanted.instruments,
         "The channel into which an instrument measures the same: its mean over the hold is "
         "filled in where no value is typed")
      .type_name("CHANNEL=CHANNEL")
      .one_value_each();
}

}  // namespace

void declare_bench_run(CommandLine app, std::function<int()>& chosen) {
  CommandLine sub =
      app.add_verb("run", "Walk through a plan's steps, and write them into a running capture");
  auto wanted = std::make_shared<Wanted>();
  sub.add_option("PLAN", wanted->plan, "A bench plan with steps").required();
  sub.add_option("CAPTURE", wanted->capture, "The capture that foundlingd records").required();
  sub.add_option(
         "--map", wanted->map,
         "A signal map: where it knows what was set, the board's own frames tell when it has "
         "settled, else time does")
      .type_name("MAP");
  declare_means(sub, *wanted);
  sub.add_option("--script", wanted->script,
                 "Lines as they would be typed, from a file; so too when stdin is no terminal")
      .type_name("FILE");
  sub.add_option("--after", wanted->after,
                 "The capture in which this walk was begun, where the recorder was restarted "
                 "with another")
      .type_name("CAPTURE");
  sub.add_flag("--anew", wanted->anew, "From step 1, whatever was done of this plan");
  sub.when_chosen([wanted, &chosen] {
    chosen = [wanted] {
      const auto done = run(*wanted);
      if (done) return exit_good;
      std::cerr << "foundling bench run: error: " << done.error().message << '\n';
      return exit_trouble;
    };
  });
  sub.footer(
      "It asks for one setting after the other: Enter when done, or the value that the meter\n"
      "shows. Typed at any time: back, skip, redo, pause, note WORDS, quit, help. What was done is "
      "in\n"
      "the capture itself, so after a crash or quit the same command goes on where it was, also "
      "when\n"
      "the recording has gone on in another file or the recorder was restarted.\n"
      "\n"
      "Example: the tractor's plan, the current read off a shunt, settling seen on the bus\n"
      "  foundling bench run tractor.plan tractor.capture --map tractor.signals \\\n"
      "    --sensor \"pack_current=shunt 100 A / 75 mV\" --meter \"pack_current=0.05% + 2 "
      "digits\"");
}

}  // namespace foundling
