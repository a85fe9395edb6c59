// `foundling bench touch`: what answers when something is touched.
#include <cmath>
#include <iostream>
#include <memory>
#include <random>
#include <string>
#include <vector>

#include "schemas/values/channel_name.h"
#include "tools/bench.h"
#include "tools/bench_touch_walk.h"
#include "tools/command_line.h"

namespace foundling {
namespace {

struct Wanted {
  std::string capture;
  TouchPlan plan;
  std::optional<std::uint64_t> seed;
  std::string script;
  bool anew = false, show = false;
};

Error usage(std::string message) { return {ErrorCode::usage, std::move(message)}; }

Result<void> check(const TouchPlan& plan, bool show) {
  if (const auto fault = fault_of_channel_name(plan.channel); !fault.empty()) {
    return usage("channel \"" + plan.channel + "\": " + fault);
  }
  if (show) return {};
  for (const std::string& state : plan.states) {
    if (state.empty()) return usage("expected two states: as it is now, and the other");
    if (const auto fault = fault_of_state(state); !fault.empty()) {
      return usage("state \"" + state + "\": " + fault);
    }
  }
  if (plan.states[0] == plan.states[1]) {
    return usage("the two states are both called \"" + plan.states[0] + '"');
  }
  if (plan.turns < 1 || plan.turns > 100) return usage("--turns: expected 1 to 100");
  if (!(plan.pace >= 0.1 && plan.pace <= 20)) return usage("--pace: expected 0.1 to 20");
  return {};
}

Result<int> show(TouchBook& book, const Wanted& wanted) {
  const auto story = book.story(wanted.plan.channel);
  if (!story) return story.error();
  if (!*story || (*story)->turns.empty()) {
    return usage(wanted.capture + ": no touch test of " + wanted.plan.channel + " in it");
  }
  const auto look = look_at_touches(book, **story);
  if (!look) return look.error();
  std::cout << touch_words(*look, (*story)->plan, true);
  return has_answer(*look) ? exit_good : exit_findings;
}

// A channel of that name may be there, but only of states.
Result<void> check_channel(TouchBook& book, const TouchPlan& plan) {
  const auto channels = book.channels();
  if (!channels) return channels.error();
  for (const Channel& channel : *channels) {
    if (channel.name != plan.channel || channel.is_state()) continue;
    return usage("channel " + plan.channel + " is in " + channel.unit +
                 " in this capture; a touch test needs one of states, by another name");
  }
  return {};
}

Result<int> run(const Wanted& wanted) {
  if (auto good = check(wanted.plan, wanted.show); !good) return good.error();
  TouchBook book(wanted.capture);
  if (wanted.show) return show(book, wanted);
  if (auto good = check_channel(book, wanted.plan); !good) return good.error();
  if (const auto now = book.now(); !now) return now.error();
  const auto input = RunInput::open(wanted.script);
  if (!input) return input.error();
  std::random_device device;
  const std::uint64_t drawn = (static_cast<std::uint64_t>(device()) << 32U) | device();
  TouchWalk walk(wanted.plan, wanted.seed.value_or(drawn), book, **input);
  const auto answered = walk.run(wanted.anew);
  if (!answered) return answered.error();
  return !*answered || **answered ? exit_good : exit_findings;
}

void declare_options(CommandLine sub, Wanted& wanted) {
  sub.add_option("CAPTURE", wanted.capture, "The capture that foundlingd records").required();
  sub.add_option("CHANNEL", wanted.plan.channel, "What you touch: interlock, lamp, key, temp_3")
      .required();
  sub.add_option("NOW", wanted.plan.states[0], "Its state now: in, off, cool");
  sub.add_option("OTHER", wanted.plan.states[1], "The state you can bring it into: out, on, warm");
  sub.add_option("--turns", wanted.plan.turns, "How many, from one state to the other: 12")
      .type_name("N");
  sub.add_option("--pace", wanted.plan.pace,
                 "How slow, 1 for a turn of ten seconds and a response within 2.5 s of the word; a "
                 "sensor warmed in the hand needs 3")
      .type_name("N");
  sub.add_option("--seed", wanted.seed, "Draws the moments again as they were, for trying out")
      .type_name("N");
  sub.add_option("--script", wanted.script,
                 "Lines as they would be typed, from a file; so too when stdin is no terminal")
      .type_name("FILE");
  sub.add_flag("--anew", wanted.anew, "From the first turn, whatever was done of it");
  sub.add_flag("--show", wanted.show,
               "Only the result of the last test of CHANNEL, from any capture");
}

}  // namespace

void declare_bench_touch(CommandLine app, BenchRun& chosen) {
  CommandLine sub = app.add_verb("touch", "What responds when you touch one thing, in two minutes");
  auto wanted = std::make_shared<Wanted>();
  declare_options(sub, *wanted);
  sub.when_chosen([wanted, &chosen] {
    chosen = [wanted] {
      const auto status = run(*wanted);
      if (status) return *status;
      std::cerr << "foundling bench touch: error: " << status.error().message << '\n';
      return exit_trouble;
    };
  });
  sub.footer(
      "You have one thing that you can bring back and forth, safely: a plug, a lamp, a key line, "
      "a\n"
      "sensor in the hand. It says NOW at moments that it draws; you do it and press Enter. After\n"
      "each turn it says which bits, small fields and messages responded, and with what chance "
      "luck\n"
      "would look as good, whenever you stop. Typed at any time: undo, stop, quit, help. The "
      "turns\n"
      "are in the capture as readings of CHANNEL, which foundling correlate uses.\n"
      "\n"
      "Exit status 1: nothing responded.\n"
      "\n"
      "Example: which bit is the interlock? The plug is in now\n"
      "  foundling bench touch tractor.capture interlock closed open");
}

}  // namespace foundling
