#include "tools/rehearsal_hand.h"

#include <algorithm>
#include <map>
#include <utility>

#include "decoder/bench/plan_text.h"
#include "schemas/values/unit.h"
#include "tools/bench_run_progress.h"
#include "tools/board/bench_channels.h"

namespace foundling {
namespace {

using bench::PlanChannel;
using bench::Setting;

// A pack's terminals before anybody feeds them anything else: room temperature, a charged
// auxiliary battery, contacts open.
constexpr double room_c = 20;
constexpr double auxiliary_v = 12.6;

Setting rest_of(const PlanChannel& channel) {
  Setting rest;
  rest.channels = bench::members(channel);
  rest.value = channel.rest_value();
  rest.word = channel.rest_state();
  return rest;
}

// The last plan that was begun here; empty: none.
const StoredMark* last_plan(const std::vector<StoredMark>& marks) {
  const StoredMark* last = nullptr;
  for (const StoredMark& one : marks) {
    const bool is_plan = one.superseded_by == 0 && one.mark.kind == plan_mark;
    if (is_plan && (last == nullptr || one.id > last->id)) last = &one;
  }
  return last;
}

}  // namespace

struct RehearsalHand::Asked {
  std::vector<Setting> settings;
  std::int64_t since_ns = 0;
  std::string words;
};

RehearsalHand::RehearsalHand() {
  for (std::size_t i = 0; i < board::cell_count; ++i) terminals_.cell(i) = board::cell_rest;
  terminals_[board::Input::pack_voltage] = board::cell_count * board::cell_rest;
  for (std::size_t i = 0; i < board::temperature_count; ++i) {
    terminals_.values[index(board::Input::first_temperature) + i] = room_c;
  }
  terminals_[board::Input::coolant_temperature] = room_c;
  terminals_[board::Input::supply_voltage] = auxiliary_v;
  terminals_[board::Input::ambient] = room_c;
}

// What the person has been asked to bring about and may not have written down yet.
RehearsalHand::Asked RehearsalHand::asked_now(const std::vector<StoredMark>& marks) {
  const StoredMark* const plan = last_plan(marks);
  if (plan == nullptr) return {};
  if (plan->mark.text != plan_text_) {
    plan_text_ = plan->mark.text;
    plan_ = bench::read_plan(plan_text_).plan;
  }
  const RunProgress progress = run_progress(marks, plan_text_, plan_.steps.size());
  Asked asked;
  for (const StoredMark& one : marks) {
    if (one.superseded_by == 0 && one.id >= plan->id) {
      asked.since_ns = std::max(asked.since_ns, one.mark.t_ns);
    }
  }
  const std::size_t next = progress.next();
  if (!progress.at_rest || next == plan_.steps.size()) {
    for (const PlanChannel& channel : plan_.channels) asked.settings.push_back(rest_of(channel));
    asked.words = "everything at rest";
  } else if (progress.steps[next] == StepState::begun) {
    asked.settings = plan_.steps[next].settings;
    asked.words = "step " + std::to_string(plan_.steps[next].number) + ':';
    for (const Setting& setting : asked.settings) {
      asked.words += (setting.channels == asked.settings.front().channels ? " " : ", ") +
                     bench::setting_text(plan_, setting);
    }
  }
  return asked;
}

void RehearsalHand::look(const std::vector<StoredMark>& marks,
                         const std::vector<StoredReading>& readings) {
  std::map<std::string, const StoredReading*> written;  // the last of each channel
  for (const StoredReading& one : readings) {
    if (one.superseded_by != 0 || one.channel.kind != ChannelKind::hold) continue;
    const StoredReading*& last = written[one.channel.name];
    if (last == nullptr || one.reading.t_ns >= last->reading.t_ns) last = &one;
  }
  const Asked asked = asked_now(marks);
  for (const Setting& setting : asked.settings) {
    for (const std::string& name : setting.channels) {
      // What was written down since is how it is: the meter's own figure, or another answer.
      const auto known = written.find(name);
      if (known != written.end() && known->second->reading.t_ns >= asked.since_ns) continue;
      written.erase(name);
      const PlanChannel* const channel = bench::find_channel(plan_, name);
      if (channel == nullptr) continue;
      const auto value = bench::value_in_unit_of(*channel, setting);
      set({name, channel->unit, ChannelKind::hold}, value.value_or(setting.value), setting.word);
    }
  }
  for (const auto& [name, one] : written) set(one->channel, one->reading.value, one->reading.state);
  if (!asked.words.empty() && asked.words != last_asked_) news_.push_back(asked.words);
  last_asked_ = asked.words;
}

void RehearsalHand::set(const Channel& channel, double value, const std::string& word) {
  static const std::vector<Channel> known = board::bench_channels();  // in the order of Input
  const auto found = std::ranges::find(known, channel.name, &Channel::name);
  const auto at = static_cast<std::size_t>(found - known.begin());
  if (found != known.end() && found->is_state()) {
    for (const board::SwitchChannel& one : board::switch_channels()) {
      if (one.name != channel.name) continue;
      const auto position = std::ranges::find(one.words, word);
      if (position == one.words.end()) break;
      terminals_.values[at] = static_cast<double>(position - one.words.begin());
      return;
    }
  } else if (found != known.end()) {
    if (const auto conversion = unit_conversion(channel.unit, found->unit)) {
      terminals_.values[at] = conversion->value(value);
      return;
    }
  }
  if (std::ranges::find(unknown_, channel.name) != unknown_.end()) return;
  unknown_.push_back(channel.name);
  news_.push_back("the simulated board cannot set " + channel.name +
                  (word.empty() ? "" : " to " + word) + "; it goes on without");
}

std::vector<std::string> RehearsalHand::news() { return std::exchange(news_, {}); }

}  // namespace foundling
