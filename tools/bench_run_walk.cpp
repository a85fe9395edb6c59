#include "tools/bench_run_walk.h"

#include <unistd.h>

#include <cctype>
#include <cmath>
#include <string_view>

#include "decoder/bench/cautions.h"
#include "decoder/bench/plan_text.h"
#include "decoder/bench/plan_time.h"
#include "decoder/report/paragraph.h"
#include "schemas/capture/session_clock.h"
#include "tools/text_width.h"

namespace foundling {
namespace {

using bench::Plan;
using bench::PlanChannel;
using bench::Setting;
using bench::Step;

// Beyond the cautions of every plan.
constexpr std::string_view walk_cautions =
    "Nothing here sets anything: every value is set by your own hand, and it is you who judges "
    "whether it is safe. If anything looks, smells or sounds wrong: power off first.";

std::string first_word(const RunLine& line) { return line.text.substr(0, line.text.find(' ')); }

constexpr const char* help =
    "  Enter: done as said. A value, like 19.98 or 19.98 A: what the meter shows.\n"
    "  back: to the step before. skip: leave this step out. redo: this step again,\n"
    "  without its readings so far. pause: until Enter. note WORDS: kept with the\n"
    "  time. quit: go on later with this step.";

}  // namespace

BenchWalk::BenchWalk(const Plan& plan, std::string plan_text, const RunValues& values,
                     RunBook& book, RunInput& input, LiveChannels* live)
    : plan_(plan),
      plan_text_(std::move(plan_text)),
      values_(values),
      book_(book),
      input_(input),
      live_(live) {}

Result<void> BenchWalk::run(bool anew) {
  const auto marks = book_.marks(plan_text_);
  if (!marks) return marks.error();
  RunProgress progress = run_progress(*marks, plan_text_, plan_.steps.size());
  if (progress.other_begun && !anew) {
    return Error{ErrorCode::usage,
                 "another plan was begun in this session, or this one was edited since; --anew "
                 "begins this one from step 1"};
  }
  if (anew || !progress.begun) {
    progress = {};
    progress.steps.assign(plan_.steps.size(), StepState::open);
  }
  if (progress.next() == plan_.steps.size() && progress.finished) {
    input_.say("Every step of this plan is done or skipped; --anew begins it again.");
    return {};
  }
  asked_before_ns_ = asked_before(progress);
  const auto confirmed = cautions();
  if (!confirmed) return confirmed.error();
  if (*confirmed == Next::quit) return {};
  if (!progress.begun) {
    if (auto done = book_.mark(plan_mark, plan_text_); !done) return done;
  }
  if (!progress.at_rest) {
    const auto rested = rest("Bring everything to rest first:", at_rest_words);
    if (!rested) return rested.error();
    if (*rested == Next::quit) return {};
  } else if (book_.was_begun_anew()) {
    const auto stands = still_so();
    if (!stands) return stands.error();
    if (*stands == Next::quit) return {};
  }
  if (progress.at_rest && progress.next() > 0 && progress.next() < plan_.steps.size()) {
    input_.say("Going on with step " + std::to_string(progress.next() + 1) + ".");
  }
  std::size_t index = progress.next();
  while (index < plan_.steps.size()) {
    const auto next = step(index);
    if (!next) return next.error();
    asked_before_ns_.reset();
    if (*next == Next::quit) {
      input_.say("Left. Run the same command again to go on with step " +
                 std::to_string(index + 1) + '.');
      return {};
    }
    if (*next == Next::back) index -= index > 0 ? 1 : 0;
    if (*next == Next::on || *next == Next::skip) ++index;
  }
  const auto rested = rest("All steps are through. Bring everything back to rest:", finished_words);
  if (!rested) return rested.error();
  if (*rested == Next::on) input_.say("Done.");
  return {};
}

// The bench may have been set since, and the walk left before Enter: by quitting or by a crash.
std::optional<std::int64_t> BenchWalk::asked_before(const RunProgress& progress) const {
  if (!progress.begun || book_.was_begun_anew()) return {};
  const std::size_t next = progress.next();
  const bool in_step = next < progress.steps.size() && progress.steps[next] == StepState::begun;
  if (!progress.at_rest || !in_step) return book_.marked_ns();
  return book_.marked_ns(step_words(plan_.steps[next].number, StepState::begun));
}

void BenchWalk::ask_for(const std::vector<std::string>& channels) {
  asked_.ask(channels, asked_before_ns_.value_or(boottime_now_ns()));
}

Result<BenchWalk::Next> BenchWalk::cautions() {
  input_.say("Before you begin:");
  const std::size_t width = text_width(STDOUT_FILENO);
  for (const std::string_view text : {bench::cautions, walk_cautions}) {
    const std::string lines = paragraph(text, 2, width, 0);
    input_.say(lines.substr(0, lines.size() - 1));  // say ends the line itself
  }
  if (!plan_.notes.empty()) input_.say("The plan says:");
  for (const std::string& note : plan_.notes) input_.say("  " + note);
  for (const PlanChannel& channel : plan_.channels) {
    for (const std::string& note : channel.notes) input_.say("  " + channel.name + ": " + note);
  }
  const auto agreed = ask_for_yes(input_);
  if (!agreed) return agreed.error();
  return *agreed ? Next::on : Next::quit;
}

Result<BenchWalk::Next> BenchWalk::rest(const std::string& words, std::string_view mark) {
  input_.say(words);
  std::vector<RunEntry> entries;
  for (const PlanChannel& channel : plan_.channels) {
    auto some = values_.at_rest(channel);
    if (!some) return some.error();
    Setting rest;
    rest.channels = bench::members(channel);
    rest.value = channel.rest_value();
    rest.word = channel.rest_state();
    ask_for(rest.channels);
    const std::string electrical = values_.electrical_words(rest);
    input_.say("  " + bench::setting_text(plan_, rest) +
               (electrical.empty() ? "" : "  (" + electrical + ')'));
    entries.insert(entries.end(), some->begin(), some->end());
  }
  const auto next = wait("Press Enter when done:");
  if (!next || *next == Next::quit) return next;
  asked_.answer(entries);
  if (auto done = book_.write(entries); !done) return done.error();
  if (auto done = book_.mark(step_mark, std::string(mark)); !done) return done.error();
  asked_before_ns_.reset();
  return Next::on;
}

// The recorder was restarted: how the bench stood is taken over once it has been looked at.
Result<BenchWalk::Next> BenchWalk::still_so() {
  input_.say("The recorder was restarted since. The bench stood so; set back what differs now:");
  for (const StoredReading& one : book_.standing()) {
    Setting setting;
    setting.channels = {one.channel.name};
    setting.value = one.reading.value;
    setting.unit = one.channel.is_state() ? "" : one.channel.unit;
    setting.word = one.reading.state;
    if (bench::find_channel(plan_, one.channel.name) == nullptr) continue;
    input_.say("  " + bench::setting_text(plan_, setting));
  }
  const auto next = wait("Press Enter when done:");
  if (!next || *next == Next::quit) return next;
  if (auto done = book_.mark(step_mark, "recorder restarted"); !done) return done.error();
  return Next::on;
}

Result<BenchWalk::Next> BenchWalk::wait(const std::string& prompt) {
  for (;;) {
    const auto line = input_.ask(prompt);
    if (!line) return line.error();
    if (line->text.empty()) return Next::on;
    const std::string word = first_word(*line);
    if (is_typed(word, "quit")) return Next::quit;
    const auto was_aside = aside(*line);
    if (!was_aside) return was_aside.error();
    if (*was_aside) continue;
    if (is_typed(word, "pause")) {
      input_.say("  it waits here until Enter");
      continue;
    }
    std::string why = "expected Enter, found \"" + line->text + '"';
    for (const char* const of_steps : {"back", "skip", "redo"}) {
      if (is_typed(word, of_steps)) why = std::string(of_steps) + ": not here, only within a step";
    }
    if (auto told = complain({ErrorCode::usage, why}, *line); !told) return told.error();
  }
}

Result<BenchWalk::Next> BenchWalk::step(std::size_t index) {
  const Step& step = plan_.steps[index];
  written_.clear();
  typed_.clear();
  input_.say("");
  input_.say("Step " + std::to_string(step.number) + " of " + std::to_string(plan_.steps.size()) +
             ", " + time_left(index) + " left");
  for (const std::string& note : step.notes) input_.say("  " + note);
  if (auto done = book_.mark(step_mark, step_words(step.number, StepState::begun)); !done) {
    return done.error();
  }
  Next next = Next::on;
  for (const Setting& setting : step.settings) {
    const auto outcome = set(setting);
    if (!outcome) return outcome;
    next = *outcome;
    if (next != Next::on) break;
  }
  if (next == Next::on) {
    const auto outcome = hold(step);
    if (!outcome) return outcome;
    next = *outcome;
  }
  if (auto done = finish_step(step.number, next); !done) return done.error();
  return next;
}

Result<void> BenchWalk::finish_step(int number, Next next) {
  switch (next) {
    case Next::on:
      return book_.mark(step_mark, step_words(number, StepState::done));
    case Next::skip:
      for (const Setting& setting : plan_.steps[static_cast<std::size_t>(number) - 1].settings) {
        asked_.forget(setting.channels);
      }
      return book_.mark(step_mark, step_words(number, StepState::skipped));
    case Next::back:  // the one before is to be done again as well
      if (auto done = book_.mark(step_mark, step_words(number, StepState::open)); !done)
        return done;
      if (number == 1) return {};
      return book_.mark(step_mark, step_words(number - 1, StepState::open));
    case Next::again:
      if (auto done = book_.withdraw(written_); !done) return done;
      asked_.take_back(written_);
      return book_.mark(step_mark, step_words(number, StepState::open));
    case Next::resumed:
    case Next::quit:
      break;
  }
  return {};
}

Result<BenchWalk::Next> BenchWalk::set(const Setting& setting) {
  ask_for(setting.channels);  // before it is shown: nobody is quicker
  const std::string electrical = values_.electrical_words(setting);
  input_.say("  set " + bench::setting_text(plan_, setting) +
             (electrical.empty() ? "" : "  (" + electrical + ')'));
  for (;;) {
    const auto line = input_.ask("Enter when set, or what the meter shows:");
    if (!line) return line.error();
    bool is_command = false;
    const auto next = command(*line, is_command);
    if (!next) return next;
    if (is_command && (*next == Next::on || *next == Next::resumed)) continue;
    if (is_command) return next;
    auto entries =
        line->text.empty() ? values_.as_set(setting) : values_.as_typed(setting, line->text);
    if (!entries) {
      if (auto told = complain(entries.error(), *line); !told) return told.error();
      continue;
    }
    asked_.answer(*entries);
    if (auto done = book_.write(*entries); !done) return done.error();
    if (!line->text.empty()) {
      for (const RunEntry& entry : *entries) typed_.push_back(entry.channel.name);
      say_not_written(setting);
    }
    written_.insert(written_.end(), entries->begin(), entries->end());
    return Next::on;
  }
}

// What was typed for a channel that its instrument records.
void BenchWalk::say_not_written(const Setting& setting) {
  for (const std::string& name : setting.channels) {
    if (!values_.is_recorded_already(name)) continue;
    input_.say("  " + name + " is recorded by its instrument; the typed value was not written");
  }
}

Result<bool> BenchWalk::aside(const RunLine& line) {
  const std::string word = first_word(line);
  if (is_typed(word, "help") || word == "?") {
    input_.say(help);
    return true;
  }
  if (!is_typed(word, "note")) return false;
  const std::string text = line.text.size() > word.size() ? line.text.substr(word.size() + 1) : "";
  if (text.empty()) {
    if (auto told = complain({ErrorCode::usage, "note: expected some words"}, line); !told) {
      return told.error();
    }
    return true;
  }
  if (auto done = book_.mark("note", text); !done) return done.error();
  return true;
}

Result<BenchWalk::Next> BenchWalk::command(const RunLine& line, bool& is_command) {
  const std::string word = first_word(line);
  is_command = true;
  if (is_typed(word, "back")) return Next::back;
  if (is_typed(word, "skip")) return Next::skip;
  if (is_typed(word, "redo")) return Next::again;
  if (is_typed(word, "quit")) return Next::quit;
  if (is_typed(word, "pause")) {
    if (auto done = book_.mark(step_mark, "paused"); !done) return done.error();
    const auto back = wait("Paused. Enter goes on:");
    if (!back || *back == Next::quit) return back;
    if (auto done = book_.mark(step_mark, "resumed"); !done) return done.error();
    return Next::resumed;
  }
  const auto was_aside = aside(line);
  if (!was_aside) return was_aside.error();
  is_command = *was_aside;
  return Next::on;
}

Result<void> BenchWalk::complain(const Error& error, const RunLine& line) {
  if (input_.is_script()) return Error{error.code, line.place + ": error: " + error.message};
  const bool is_word = !line.text.empty() && std::isalpha(static_cast<unsigned char>(line.text[0]));
  input_.say("  " + error.message + "; nothing was written" +
             (is_word ? ". Type help to see what can be typed" : ""));
  return {};
}

std::string BenchWalk::time_left(std::size_t index) const {
  Plan rest = plan_;
  rest.steps.erase(rest.steps.begin(), rest.steps.begin() + static_cast<std::ptrdiff_t>(index));
  const double left = bench::plan_seconds(rest);
  if (left < 90) return "about " + bench::duration_text(std::ceil(left));
  return "about " + std::to_string(std::lround(left / 60)) + " min";
}

}  // namespace foundling
