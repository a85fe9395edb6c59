#include "tools/bench_touch_story.h"

#include <algorithm>
#include <sstream>

#include "decoder/report/figures.h"
#include "decoder/touch/timing.h"

namespace foundling {
namespace {

// "begun interlock closed open turns 12 pace 1"
std::optional<TouchPlan> plan_of(const std::string& text) {
  std::istringstream words(text);
  TouchPlan plan;
  std::string begun, turns, pace;
  words >> begun >> plan.channel >> plan.states[0] >> plan.states[1] >> turns >> plan.turns >>
      pace >> plan.pace;
  const bool good = !words.fail() && begun == "begun" && turns == "turns" && pace == "pace" &&
                    plan.turns > 0 && plan.pace > 0;
  return good ? std::optional(plan) : std::nullopt;
}

// "turn 3 interlock open place 7"
std::optional<TouchTurn> turn_of(const StoredMark& mark, const TouchPlan& plan) {
  std::istringstream words(mark.mark.text);
  std::string turn, channel, state, place;
  int number = 0;
  TouchTurn out;
  words >> turn >> number >> channel >> state >> place >> out.place;
  const bool good = !words.fail() && turn == "turn" && channel == plan.channel &&
                    place == "place" && out.place >= 0 && out.place < touch::places &&
                    (state == plan.states[0] || state == plan.states[1]);
  if (!good) return {};
  out.start_ns = mark.mark.t_ns;
  out.target = state == plan.states[1] ? 1 : 0;
  out.taken_back = mark.superseded_by != 0;
  out.mark = mark.id;
  return out;
}

}  // namespace

std::string begun_words(const TouchPlan& plan) {
  return "begun " + plan.channel + ' ' + plan.states[0] + ' ' + plan.states[1] + " turns " +
         std::to_string(plan.turns) + " pace " + exact_figure(plan.pace);
}

std::string turn_words(const TouchPlan& plan, const TouchTurn& turn, int number) {
  return "turn " + std::to_string(number) + ' ' + plan.channel + ' ' +
         plan.states[static_cast<std::size_t>(turn.target)] + " place " +
         std::to_string(turn.place);
}

std::string finished_touch_words(const TouchPlan& plan) { return "finished " + plan.channel; }

std::optional<TouchStory> touch_story(std::vector<StoredMark> marks, const std::string& channel) {
  std::ranges::sort(marks, {}, &StoredMark::id);
  std::optional<TouchStory> story;
  for (const StoredMark& one : marks) {
    if (one.mark.kind != touch_mark) continue;
    if (const auto plan = plan_of(one.mark.text); plan && plan->channel == channel) {
      if (one.superseded_by == 0) story = TouchStory{*plan, one.mark.t_ns, {}, false};
      continue;
    }
    if (!story) continue;
    if (one.mark.text == finished_touch_words(story->plan)) story->finished = true;
    if (const auto turn = turn_of(one, story->plan)) story->turns.push_back(*turn);
  }
  return story;
}

}  // namespace foundling
