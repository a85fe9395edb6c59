#include "tools/bench_touch_walk.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <random>

#include "decoder/report/paragraph.h"
#include "tools/stop_signal.h"

namespace foundling {
namespace {

constexpr std::size_t columns = 60;

constexpr std::array cautions_of_touch = {
    "A traction pack can kill and burn, also when it is called empty. Work on it is for licensed "
    "or "
    "trained people, under local codes.",
    "Board on a current-limited supply, the pack's high-voltage path open, contactors without coil "
    "supply. Touch only what you would touch with it live, one hand, a second person by.",
    "The thing that you bring back and forth must be safe in both states, also when you are late "
    "or "
    "forget a turn. Nothing here sets anything.",
};

constexpr const char* help =
    "Enter: it is done. undo: the last turn went wrong, it is done again. stop: that is clear "
    "enough, the result so far. quit: leave, the same command goes on later.";

// By the boot clock's distance to now, on the clock that the input waits by.
RunInput::Deadline deadline(std::int64_t until_ns, std::int64_t now_ns) {
  return std::chrono::steady_clock::now() + std::chrono::nanoseconds(until_ns - now_ns);
}

}  // namespace

TouchWalk::TouchWalk(TouchPlan plan, std::uint64_t seed, TouchBook& book, RunInput& input)
    : story_{std::move(plan), 0, {}, false}, random_(seed), book_(book), input_(input) {}

int TouchWalk::counted() const {
  return static_cast<int>(std::ranges::count(story_.turns, false, &TouchTurn::taken_back));
}

// Asks for the state, without writing it down.
Result<TouchWalk::Next> TouchWalk::set_back(int state) {
  const auto line =
      input_.ask("Set " + story_.plan.channel + " = " +
                 story_.plan.states[static_cast<std::size_t>(state)] + ", then Enter:");
  if (!line) return line.error();
  return asked(*line);
}

Result<TouchWalk::Next> TouchWalk::asked(const RunLine& line) {
  if (line.text.empty()) return Next::on;
  if (is_typed(line.text, "undo")) return Next::undo;
  if (line.text == "stop") return Next::stop;
  if (is_typed(line.text, "quit")) return Next::quit;
  if (is_typed(line.text, "help") || line.text == "?") {
    input_.say(paragraph(help, 2, columns));
    return Next::on;
  }
  const std::string why = "expected Enter, undo, stop or quit, found \"" + line.text + '"';
  if (input_.is_script()) return Error{ErrorCode::usage, line.place + ": error: " + why};
  input_.say("  " + why);
  return Next::on;
}

Result<TouchWalk::Next> TouchWalk::cautions() {
  input_.say("Before you begin:");
  for (const char* const line : cautions_of_touch) input_.say(paragraph(line, 2, columns));
  const auto agreed = ask_for_yes(input_);
  if (!agreed) return agreed.error();
  return *agreed ? Next::on : Next::quit;
}

// What moves by itself is watched for a window's time before the first turn.
Result<TouchWalk::Next> TouchWalk::begin() {
  const auto next = set_back(0);
  if (!next || *next == Next::quit || *next == Next::stop) return next;
  const auto begun = book_.begin(story_.plan);
  if (!begun) return begun.error();
  story_.begun_ns = *begun;
  const touch::Timing timing{story_.plan.pace};
  return wait_quietly(*begun + timing.window_ns(), "hands off: what moves by itself?");
}

Result<TouchWalk::Next> TouchWalk::wait_quietly(std::int64_t until_ns, const std::string& prompt) {
  for (;;) {
    const auto now = book_.now();
    if (!now) return now.error();
    if (*now >= until_ns) return Next::on;
    const auto line = input_.meanwhile(prompt, deadline(until_ns, *now));
    if (!line) return line.error();
    if (!*line) continue;
    const auto next = asked(**line);
    if (!next || *next != Next::on) return next;
  }
}

Result<TouchWalk::Next> TouchWalk::turn() {
  const touch::Timing timing{story_.plan.pace};
  const auto now = book_.now();
  if (!now) return now.error();
  TouchTurn turn{*now, static_cast<int>(random_() % touch::places), next_target(), false, 0};
  const int number = counted() + 1;
  const std::string which =
      "turn " + std::to_string(number) + " of " + std::to_string(story_.plan.turns);
  const std::int64_t word_ns = turn.start_ns + timing.word_ns(turn.place);
  const auto waited = wait_quietly(word_ns, which + ": wait for the word");
  if (!waited || *waited != Next::on) return waited;
  const auto acted = act(turn, word_ns);
  if (!acted || *acted != Next::on) return acted;
  story_.turns.push_back(turn);
  // The window's end and a moment for the recorder to store it.
  constexpr std::int64_t stored_ns = 400'000'000;
  const auto rested =
      wait_quietly(turn.start_ns + timing.window_ns() + stored_ns, which + ": leave it so");
  if (!rested || *rested != Next::on) return rested;
  if (auto shown = show(false); !shown) return shown.error();
  return Next::on;
}

Result<TouchWalk::Next> TouchWalk::act(TouchTurn& turn, std::int64_t word_ns) {
  const std::string state = story_.plan.states[static_cast<std::size_t>(turn.target)];
  input_.say("NOW: " + story_.plan.channel + " = " + state);
  for (;;) {
    const auto line = input_.ask(state + ": Enter when done:");
    if (!line) return line.error();
    const auto next = asked(*line);
    if (next && *next == Next::undo) {
      const auto back = set_back(1 - turn.target);
      if (!back || *back != Next::on) return back;
      return Next::again;
    }
    if (!next || *next != Next::on) return next;
    if (line->text.empty()) break;
  }
  if (auto done = book_.write(story_.plan, turn, counted() + 1, word_ns); !done) {
    return done.error();
  }
  const touch::Timing timing{story_.plan.pace};
  const auto now = book_.now();
  if (!now) return now.error();
  if (*now > word_ns + touch::latest_answer * timing.bin_ns()) {
    input_.say(
        paragraph("That took long. What responds later than a quarter of the turn is not "
                  "seen; with --anew and a higher --pace everything has more time.",
                  2, columns));
  }
  return Next::on;
}

// The last turn no longer speaks for anything, and its way is gone again.
Result<void> TouchWalk::undo() {
  const auto last = std::find_if(story_.turns.rbegin(), story_.turns.rend(),
                                 [](const TouchTurn& turn) { return !turn.taken_back; });
  if (last == story_.turns.rend()) {
    input_.say("  no turn to take back");
    return {};
  }
  if (auto done = book_.take_back(story_.plan, *last); !done) return done;
  last->taken_back = true;
  input_.say(paragraph("Taken back: it may speak against a bit, no longer for one.", 2, columns));
  const int state = 1 - last->target;
  if (const auto back = set_back(state); !back) return back.error();
  return book_.stands(story_.plan, state);
}

Result<void> TouchWalk::show(bool final) {
  const auto look = look_at_touches(book_, story_);
  if (!look) return look.error();
  answered_ = has_answer(*look);
  std::string text = touch_words(*look, story_.plan, final);
  text.pop_back();  // say() ends the line
  const int turns = counted();
  input_.say("After " + std::to_string(turns) + (turns == 1 ? " turn:" : " turns:"));
  input_.say(text);
  if (answered_ && !final) input_.say("  Clear already; stop ends it, or make it surer.");
  return {};
}

Result<std::optional<bool>> TouchWalk::run(bool anew) {
  auto before = book_.story(story_.plan.channel);
  if (!before) return before.error();
  const bool goes_on = !anew && *before && !(*before)->finished && (*before)->plan == story_.plan;
  auto next = cautions();
  if (!next) return next.error();
  if (*next == Next::on && goes_on) {
    story_ = **before;
    input_.say("Going on; turns so far: " + std::to_string(counted()) + ".");
    next = set_back(1 - next_target());
  } else if (*next == Next::on) {
    next = begin();
  }
  while (next && *next != Next::quit && *next != Next::stop && counted() < story_.plan.turns) {
    next = turn();
    if (next && *next == Next::undo) {
      if (auto done = undo(); !done) return done.error();
    }
  }
  if (!next && !stop_asked()) return next.error();
  if (!next || *next == Next::quit) {
    input_.say("Left. The same command goes on with it.");
    return std::optional<bool>();
  }
  if (story_.turns.empty()) return std::optional<bool>();
  if (auto done = book_.finish(story_.plan); !done) return done.error();
  if (auto shown = show(true); !shown) return shown.error();
  return std::optional<bool>(answered_);
}

}  // namespace foundling
