// The looking part of a touch test: what the capture's frames say about its turns.
#include <algorithm>
#include <array>

#include "decoder/analysis/survey.h"
#include "decoder/report/figures.h"
#include "decoder/report/paragraph.h"
#include "decoder/report/touch_text.h"
#include "decoder/touch/redraws.h"
#include "schemas/capture/frame_columns.h"
#include "tools/bench_touch_walk.h"

namespace foundling {
namespace {

constexpr std::size_t ranked = 5;      // answers that a person reads after each turn
constexpr double beyond_doubt = 0.01;  // the chance up to which something counts as found

std::vector<MessageSeries> in_columns(const std::vector<Frame>& frames) {
  capture_file::FrameColumns columns;
  for (const Frame& frame : frames) {
    if (frame.id.is_remote() || frame.id.is_error()) continue;
    columns.add(frame.t_ns, frame.bus, frame.id, frame.flags, frame.bytes());
  }
  return columns.take();
}

touch::Selectors selectors_of(const Survey& survey) {
  touch::Selectors out;
  for (const MessageSurvey& message : survey.messages) {
    if (!message.selectors.empty()) {
      out[{message.bus, message.id}] = message.selectors.front().span;
    }
  }
  return out;
}

touch::Followers followers_of(const Survey& survey) {
  touch::Followers out;
  for (const MessageSurvey& message : survey.messages) {
    auto& spans = out[{message.bus, message.id}];
    for (const ChecksumFinding& one : message.checksums) spans.push_back(one.span);
    for (const CounterFinding& one : message.counters) spans.push_back(one.span);
    for (const SelectorFinding& one : message.selectors) spans.push_back(one.span);
  }
  return out;
}

bool several_buses(const touch::TouchTest& test) {
  for (const auto& [candidate, entry] : test.entries()) {
    if (candidate.message.bus != 0) return true;
  }
  return false;
}

}  // namespace

Result<TouchLook> look_at_touches(TouchBook& book, const TouchStory& story) {
  const touch::Timing timing{story.plan.pace};
  const std::int64_t first = story.turns.empty() ? story.begun_ns : story.turns.front().start_ns;
  constexpr std::int64_t enough_ns = 60'000'000'000;  // where the test was left for hours
  auto before = book.frames(std::max(story.begun_ns, first - enough_ns), first);
  if (!before) return before.error();
  if (before->empty()) {
    return Error{ErrorCode::usage,
                 "no frames before the first turn; is the board on, and does foundlingd receive "
                 "it? `foundling status` says"};
  }
  const touch::Selectors selectors = selectors_of(survey(in_columns(*before)));
  TouchLook look{touch::TouchTest(timing, selectors, *before), {}};
  std::vector<Frame> all = std::move(before).value();
  for (const TouchTurn& turn : story.turns) {
    const auto frames = book.frames(turn.start_ns, turn.start_ns + timing.window_ns());
    if (!frames) return frames.error();
    look.test.add(*frames, turn.start_ns, {turn.place, turn.target, turn.taken_back});
    all.insert(all.end(), frames->begin(), frames->end());
  }
  look.followers = followers_of(survey(in_columns(all)));
  return look;
}

bool has_answer(const TouchLook& look) {
  const auto found = touch::answers(look.test, look.followers, 1);
  return !found.empty() && found.front().chance <= beyond_doubt;
}

std::string touch_words(const TouchLook& look, const TouchPlan& plan, bool final) {
  const int turns = look.test.counted();
  const std::array<std::string, 2> states{plan.states[0], plan.states[1]};
  std::string text = touch_text(touch::answers(look.test, look.followers, ranked), states, turns,
                                several_buses(look.test));
  if (!final) return text;
  constexpr std::size_t columns = 60;
  if (turns == plan.turns) {
    constexpr int redraws = 999;  // a chance down to 0.001
    const double chance = touch::chance_by_redraws(look.test, redraws, 1);
    text += paragraph(
        "All " + std::to_string(turns) + " turns as settled: with the moments drawn again " +
            std::to_string(redraws) + " times, anything at all responds as well with chance " +
            figure(chance, 2) + '.',
        0, columns);
  }
  text += paragraph(
      "The chances hold whenever you stop. It says what moves with this, not "
      "what it means; `foundling correlate` uses these turns as readings of " +
          plan.channel + '.',
      0, columns);
  return text;
}

}  // namespace foundling
