// The bench walk's waiting: until what was set has settled, and what was measured meanwhile.
#include <algorithm>
#include <chrono>
#include <cmath>

#include "decoder/bench/plan_text.h"
#include "tools/bench_run_walk.h"
#include "tools/stimulus_list.h"

namespace foundling {
namespace {

using bench::PlanChannel;
using bench::Setting;
using bench::Step;
using Clock = std::chrono::steady_clock;

std::chrono::nanoseconds seconds(double s) {
  return std::chrono::nanoseconds(static_cast<std::int64_t>(s * 1e9));
}

}  // namespace

// At least the hold; where the board shows what was set, until it has been still for the hold less
// the settling, and at most three times as long. After a pause the step is held whole again: how
// the bench stood meanwhile is not known.
Result<BenchWalk::Next> BenchWalk::hold(const Step& step) {
  const double hold_s = plan_.hold_of(step);
  const double still_s = std::max(hold_s - settling_s(step), 0.0);
  const bool watched = can_be_watched(step);
  const auto window_ns = std::min<std::int64_t>(2'000'000'000, seconds(hold_s / 2).count());
  std::int64_t from_ns = 0;
  Clock::time_point end, latest;
  bool settled = false;
  const auto begin = [&]() -> Result<void> {
    const auto now = book_.now();
    if (!now) return now.error();
    from_ns = *now;
    if (watched) live_->begin();
    end = Clock::now() + seconds(hold_s);
    latest = Clock::now() + seconds(3 * hold_s);
    settled = !watched;
    return {};
  };
  if (auto begun = begin(); !begun) return begun.error();
  while (Clock::now() < end || (!settled && Clock::now() < latest)) {
    if (watched && !settled) {
      if (auto read = live_->follow(); !read) input_.say("  (" + read.error().message + ')');
      settled = all_still(step, window_ns);
      if (settled) {
        input_.say("  the board shows it settled");
        end = std::max(end, Clock::now() + seconds(still_s));
      }
    }
    const double left =
        std::chrono::duration<double>((settled ? end : std::max(end, latest)) - Clock::now())
            .count();
    const std::string prompt = settled ? "hold " +
                                             bench::duration_text(std::ceil(std::max(left, 0.0))) +
                                             ", what does the meter show?"
                                       : "waiting until the board settles >";
    const auto until = std::min(settled ? end : latest, Clock::now() + seconds(0.25));
    const auto line = input_.meanwhile(prompt, until);
    if (!line) return line.error();
    if (!*line || (*line)->text.empty()) continue;
    bool is_command = false;
    const auto next = command(**line, is_command);
    if (!next) return next;
    if (is_command && *next == Next::resumed) {
      if (auto begun = begin(); !begun) return begun.error();
      continue;
    }
    if (is_command && *next != Next::on) return next;
    if (is_command) continue;
    if (step.settings.size() == 1) {
      if (auto taken = take_value(step.settings.front(), **line); !taken) return taken.error();
    } else if (auto complained = complain({ErrorCode::usage,
                                           "several channels were set; with `redo` each can be "
                                           "given its value"},
                                          **line);
               !complained) {
      return complained.error();
    }
  }
  if (watched && !settled)
    input_.say("  the board did not settle in three times the hold; going on");
  if (auto taken = take_measured(step, from_ns + seconds(settling_s(step)).count()); !taken) {
    return taken.error();
  }
  return Next::on;
}

Result<void> BenchWalk::take_value(const Setting& setting, const RunLine& line) {
  auto entries = values_.as_typed(setting, line.text);
  if (!entries) return complain(entries.error(), line);
  say_not_written(setting);
  for (RunEntry& entry : *entries) {
    for (const RunEntry& old : written_) {
      if (old.channel.name != entry.channel.name) continue;
      entry.at = old.at;
      entry.reading.t_ns = old.reading.t_ns;
      entry.asked_ns = old.asked_ns;
    }
  }
  if (auto done = book_.correct(*entries); !done) return done;
  for (const RunEntry& entry : *entries) {
    typed_.push_back(entry.channel.name);
    for (RunEntry& old : written_) {
      if (old.channel.name == entry.channel.name) old = entry;
    }
    input_.say("  " + entry.channel.name + " = " + reading_words(entry.channel, entry.reading));
  }
  return {};
}

// An instrument fills in what nobody typed.
Result<void> BenchWalk::take_measured(const Step& step, std::int64_t from_ns) {
  for (const Setting& setting : step.settings) {
    for (const std::string& name : setting.channels) {
      const bool direct = values_.is_recorded_already(name);
      const std::string& instrument = direct ? name : values_.means(name).instrument;
      if (instrument.empty() || std::find(typed_.begin(), typed_.end(), name) != typed_.end())
        continue;
      const auto samples = book_.readings_since(instrument, from_ns);
      if (!samples) return samples.error();
      if (samples->empty()) {
        input_.say("  " + instrument + " gave no reading of " + name);
        continue;
      }
      auto entry = values_.as_measured(name, instrument, *samples);
      if (!entry) {
        input_.say("  caution: " + entry.error().message);
        continue;
      }
      input_.say("  " + name + " = " + reading_words(entry->channel, entry->reading) + " by " +
                 (direct ? "its instrument" : instrument) + ", " + std::to_string(samples->size()) +
                 " readings");
      for (RunEntry& old : written_) {
        if (direct || old.channel.name != name) continue;
        std::vector<RunEntry> one{*entry};
        one[0].at = old.at;
        one[0].reading.t_ns = old.reading.t_ns;
        one[0].asked_ns = old.asked_ns;
        if (auto done = book_.correct(one); !done) return done;
        old = one[0];
      }
    }
  }
  return {};
}

bool BenchWalk::can_be_watched(const Step& step) const {
  if (live_ == nullptr) return false;
  return std::all_of(step.settings.begin(), step.settings.end(), [&](const Setting& setting) {
    return std::all_of(setting.channels.begin(), setting.channels.end(),
                       [&](const std::string& name) { return live_->knows(name); });
  });
}

bool BenchWalk::all_still(const Step& step, std::int64_t window_ns) const {
  for (const Setting& setting : step.settings) {
    for (const std::string& name : setting.channels) {
      const PlanChannel* const channel = bench::find_channel(plan_, name);
      const double least = channel == nullptr ? 0 : 0.005 * (channel->high - channel->low);
      if (!live_->is_settled(name, window_ns, least)) return false;
    }
  }
  return true;
}

double BenchWalk::settling_s(const Step& step) const {
  double longest = 0;
  for (const Setting& setting : step.settings) {
    for (const std::string& name : setting.channels) {
      const PlanChannel* const channel = bench::find_channel(plan_, name);
      if (channel == nullptr) continue;
      longest = std::max(longest, channel->settle_s.value_or(bench::default_settle_s));
    }
  }
  return std::min(longest, plan_.hold_of(step));
}

}  // namespace foundling
