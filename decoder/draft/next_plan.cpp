#include "decoder/draft/next_plan.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <set>

#include "decoder/bench/draw.h"
#include "decoder/bench/plan_text.h"
#include "schemas/signals/fact_text.h"

namespace foundling {
namespace {

using bench::PlanChannel;

constexpr int levels_next = 8;  // once each: the shortest that a line and its chance can rest on
constexpr int levels_needed = 5;

// What is to be said of several channels alike is said once.
class Sayings {
 public:
  void add(const std::string& name, const std::string& what) {
    const auto known = std::ranges::find(whats_, what);
    if (known == whats_.end()) {
      whats_.push_back(what);
      names_.push_back({name});
    } else {
      names_[static_cast<std::size_t>(known - whats_.begin())].push_back(name);
    }
  }

  [[nodiscard]] std::vector<std::string> sentences() const {
    std::vector<std::string> out;
    for (std::size_t i = 0; i < whats_.size(); ++i) {
      out.push_back(bench::names_text(names_[i]) + ": " + whats_[i]);
    }
    return out;
  }

 private:
  std::vector<std::string> whats_;
  std::vector<std::vector<std::string>> names_;
};

class Next {
 public:
  Next(const Correlation& found, std::span<const ChannelSeries> channels, const bench::Plan& known)
      : found_(found), channels_(channels), known_(known) {}

  NextPlan run() {
    for (const ChannelSeries& channel : channels_) look_at(channel);
    for (const ChannelSeries& channel : channels_) {
      if (wanted_.contains(channel.channel.name)) add(channel);
    }
    say_what_is_separated();
    out_.settles = settles_.sentences();
    out_.settles.insert(out_.settles.begin(), sets_.begin(), sets_.end());
    out_.remains = remains_.sentences();
    out_.plan.board = known_.board;
    out_.plan.hold_s = known_.hold_s;
    return std::move(out_);
  }

 private:
  const Proposal* first_of(const std::string& name) const {
    for (const Proposal& p : found_.proposals) {
      if (p.channel == name && p.rank == 1 && !p.derived && !p.inferred) return &p;
    }
    return nullptr;
  }

  const ChannelSeries* series_of(const std::string& name) const {
    for (const ChannelSeries& c : channels_) {
      if (c.channel.name == name) return &c;
    }
    return nullptr;
  }

  // The channel's declaration: the known one, or what this session shows of it.
  PlanChannel declare(const ChannelSeries& series) const {
    PlanChannel out;
    if (const PlanChannel* known = bench::find_channel(known_, series.channel.name)) {
      out = *known;
      out.remarks.clear();
    } else {
      out.unit = series.channel.unit;
      for (const Reading& r : series.readings) {
        const bool first = &r == &series.readings.front();
        if (out.is_state()) {
          if (std::ranges::find(out.words, r.state) == out.words.end())
            out.words.push_back(r.state);
        } else {
          out.low = first ? r.value : std::min(out.low, r.value);
          out.high = first ? r.value : std::max(out.high, r.value);
        }
      }
      if (!out.is_state() && !series.readings.empty()) out.rest = series.readings.front().value;
    }
    out.name = series.channel.name;
    out.first = out.last = out.digits = 0;
    out.moves = bench::Moves::alone;
    if (!out.is_state()) out.levels = levels_next;
    out.repeat = 1;
    return out;
  }

  void look_at(const ChannelSeries& series) {
    const std::string& name = series.channel.name;
    if (series.channel.kind == ChannelKind::sample) return;
    const Proposal* p = first_of(name);
    if (series.channel.is_state()) {
      if (p == nullptr || p->verdict != Verdict::strong) too_little(series, "changes");
      return;
    }
    if (p == nullptr) {
      const auto levels = distinct_levels(series);
      if (levels < levels_needed) return too_little(series, "levels");
      remains_.add(name, "nothing on the bus answers to it, though it had levels enough");
      return;
    }
    if (p->verdict == Verdict::ambiguous) {
      wanted_.insert(name);
      for (const std::string& other : p->ambiguous_with) wanted_.insert(other);
    } else if (p->levels < levels_needed) {
      too_little(series, "levels");
    }
    if (p->untested_high_bits > 0 && !p->is_float && p->table.empty()) look_at_top(series, *p);
  }

  static int distinct_levels(const ChannelSeries& series) {
    std::set<double> values;
    for (const Reading& r : series.readings) values.insert(r.value);
    return static_cast<int>(values.size());
  }

  void too_little(const ChannelSeries& series, const char* of_what) {
    const PlanChannel declared = declare(series);
    const bool can = declared.is_state() ? declared.words.size() > 1 : declared.low < declared.high;
    if (can) {
      wanted_.insert(series.channel.name);
      settles_.add(series.channel.name, std::string("had too few ") + of_what);
    } else {
      remains_.add(series.channel.name, std::string("had too few ") + of_what +
                                            ", and how far it may be moved is not known");
    }
  }

  // The top bit that never moved flips beyond this value; only known limits allow to go there.
  void look_at_top(const ChannelSeries& series, const Proposal& p) {
    const std::string& name = series.channel.name;
    const double raw = std::ldexp(1.0, p.place.span.width() - p.untested_high_bits);
    const double beyond = p.offset + p.scale * raw;
    const PlanChannel* known = bench::find_channel(known_, name);
    const bool allowed = known != nullptr && beyond <= known->high && beyond >= known->low;
    const std::string what = "bit " + std::to_string(p.place.span.width() - p.untested_high_bits) +
                             " of its field, which only a value beyond " + short_number(beyond) +
                             ' ' + p.unit + " moves";
    if (allowed) {
      wanted_.insert(name);
      settles_.add(name, what);
    } else {
      remains_.add(name,
                   what + ", outside " + (known != nullptr ? "its limits" : "what it was set to"));
    }
  }

  static std::string short_number(double value) {
    char text[32];
    std::snprintf(text, sizeof text, "%.4g", value);
    return text;
  }

  void add(const ChannelSeries& series) {
    PlanChannel channel = declare(series);
    const Proposal* p = first_of(channel.name);
    if (!channel.is_state() && !(channel.low < channel.high)) {
      remains_.add(channel.name, "was never moved, and its limits are not known");
      return;
    }
    if (!channel.settle_s && p != nullptr) {
      const double lag = p->delay_s + 4 * p->time_constant_s;  // within 2 % of the new value
      channel.settle_s = std::max(bench::default_settle_s, std::ceil(lag));
    }
    const double hold = known_.hold_s.value_or(bench::default_hold_s);
    if (channel.settle_s.value_or(0) > hold) channel.settle_s = hold;
    out_.plan.channels.push_back(std::move(channel));
  }

  void say_what_is_separated() {
    std::set<std::vector<std::string>> told;
    for (const Proposal& p : found_.proposals) {
      if (p.rank != 1 || p.derived || p.verdict != Verdict::ambiguous) continue;
      std::vector<std::string> set = p.ambiguous_with;
      set.push_back(p.channel);
      std::ranges::sort(set);
      if (!told.insert(set).second) continue;
      const bool one_lead = share_a_lead(set);
      if (one_lead) {
        for (const std::string& name : set) {
          remains_.add(name, "hang on one lead and cannot be told apart");
        }
        continue;
      }
      const std::string names = bench::names_text(set);
      sets_.push_back(bench::names_text(set) +
                      ": moved together, so nobody knows whose field is whose");
      for (const std::string& name : set) {
        if (std::ranges::find(out_.separates, name) == out_.separates.end() &&
            bench::find_channel(out_.plan, name) != nullptr) {
          out_.separates.push_back(name);
        }
      }
    }
  }

  bool share_a_lead(const std::vector<std::string>& names) const {
    std::set<std::string> leads;
    for (const std::string& name : names) {
      const PlanChannel* known = bench::find_channel(known_, name);
      if (known == nullptr || known->lead.empty()) return false;
      leads.insert(known->lead);
    }
    return leads.size() == 1;
  }

  const Correlation& found_;
  std::span<const ChannelSeries> channels_;
  const bench::Plan& known_;
  std::set<std::string> wanted_;
  Sayings settles_, remains_;
  std::vector<std::string> sets_;  // that moved together, and will not
  NextPlan out_;
};

}  // namespace

NextPlan next_plan(const Correlation& found, std::span<const ChannelSeries> channels,
                   const bench::Plan& known) {
  return Next(found, channels, known).run();
}

}  // namespace foundling
