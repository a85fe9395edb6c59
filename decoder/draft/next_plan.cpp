#include "decoder/draft/next_plan.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <set>

#include "decoder/bench/draw.h"
#include "decoder/bench/plan_text.h"
#include "decoder/draft/untested_bits.h"
#include "schemas/signals/fact_text.h"
#include "schemas/values/unit.h"

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
    gather_sets();
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

  // A reading as a hand sets it: a conversion of units leaves 34.800000000000004.
  static double as_set(double value) {
    char text[32];
    std::snprintf(text, sizeof text, "%.12g", value);
    return std::strtod(text, nullptr);
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
          const double value = as_set(r.value);
          out.low = first ? value : std::min(out.low, value);
          out.high = first ? value : std::max(out.high, value);
        }
      }
    }
    out.name = series.channel.name;
    out.numbers.clear();
    out.digits = 0;
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
      remains_.add(name, "nothing on the bus responds to it, though it had levels enough");
      return;
    }
    if (p->verdict == Verdict::ambiguous) {
      wanted_.insert(name);
      for (const std::string& other : p->ambiguous_with) {
        const ChannelSeries* set = series_of(other);
        if (set != nullptr && set->channel.kind == ChannelKind::hold) wanted_.insert(other);
      }
      return;  // whose field it is comes before what its bits are
    }
    if (p->levels < levels_needed) {
      too_little(series, "levels");
    } else if (p->verdict == Verdict::weak) {
      too_little(series, "levels for more than a weak proposal");
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

  // The top bits that never moved; only known limits allow to go where they do.
  void look_at_top(const ChannelSeries& series, const Proposal& p) {
    const std::string& name = series.channel.name;
    PlanChannel to = declare(series);
    const auto conversion = unit_conversion(to.unit, p.unit);
    if (!conversion || series.readings.empty()) return;
    const double low = conversion->value(to.low);
    const double high = conversion->value(to.high);
    const double grain = to.grain ? conversion->uncertainty(*to.grain) : 0.01 * (high - low);
    const UntestedBits bits = untested_bits(p, series.readings.front().value, low, high, grain);
    const int width = p.place.span.width();
    if (bits.moved > 0) {
      wanted_.insert(name);
      out_.exercises[name] = bits.moved;
      settles_.add(name, bits_text(p, width - p.untested_high_bits, bits.moved) +
                             " of the field, which never moved" +
                             (bits.by_sign ? ", move below raw 0 if it is two's complement" : ""));
    }
    if (bits.still == 0) return;
    // Below raw 0 there may be nothing at all: of use only to who can go there.
    const bool lower = bits.below && (p.is_signed || raw_of(p, *bits.below) > 0);
    const bool upper = bits.above && (p.is_signed || raw_of(p, *bits.above) > 0);
    std::string where;
    if (upper) where = " beyond " + short_number(*bits.above) + ' ' + p.unit;
    if (lower) where += (upper ? " or" : "");
    if (lower) where += " below " + short_number(*bits.below) + ' ' + p.unit;
    const bool is_known = bench::find_channel(known_, name) != nullptr;
    remains_.add(name, bits_text(p, width - bits.still, bits.still) +
                           " of the field, untested: only values" + where + " would move " +
                           (bits.still > 1 ? "the lowest of them" : "it") + ", outside " +
                           (is_known ? "its limits" : "what it was set to"));
  }

  static double raw_of(const Proposal& p, double value) { return (value - p.offset) / p.scale; }

  // "bit 2.6", "bits 2.7..2.6": as a field is named.
  static std::string bits_text(const Proposal& p, int from, int count) {
    const Span& span = p.place.span;
    const BitPosition lowest = span.position(from);
    if (count == 1) return "bit " + to_string(lowest);
    return "bits " + to_string(span.position(from + count - 1)) + ".." + to_string(lowest);
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

  // Members that one source is laid over in sets stand in one series again. One alone needs no
  // sets.
  void gather_sets() {
    auto& channels = out_.plan.channels;
    for (const PlanChannel& known : known_.channels) {
      if (known.moves != bench::Moves::in_sets || !known.is_series()) continue;
      PlanChannel series = known;
      series.remarks.clear();
      series.levels = levels_next;
      series.repeat = 1;
      series.numbers.clear();
      std::size_t at = channels.size(), count = 0;
      for (const bench::NumberRange& range : known.numbers) {
        for (int n = range.first; n <= range.last; ++n) {
          const std::string name = known.name + '_' + bench::number_text(n, known.digits);
          const auto member = std::ranges::find(channels, name, &PlanChannel::name);
          if (member == channels.end()) continue;
          at = std::min(at, static_cast<std::size_t>(member - channels.begin()));
          ++count;
          series.settle_s = std::max(series.settle_s, member->settle_s);
          auto& numbers = series.numbers;
          if (!numbers.empty() && numbers.back().last + 1 == n) {
            numbers.back().last = n;
          } else {
            numbers.push_back({n, n});
          }
        }
      }
      if (count < 2) continue;
      const auto names = members(series);
      channels.insert(channels.begin() + static_cast<std::ptrdiff_t>(at), series);
      std::erase_if(channels, [&](const PlanChannel& c) {
        return !c.is_series() && std::ranges::find(names, c.name) != names.end();
      });
    }
  }

  void say_what_is_separated() {
    std::set<std::vector<std::string>> told;
    for (const Proposal& p : found_.proposals) {
      if (p.rank != 1 || p.derived || p.verdict != Verdict::ambiguous) continue;
      std::vector<std::string> set = p.ambiguous_with;
      set.push_back(p.channel);
      std::ranges::sort(set);
      if (!told.insert(set).second) continue;
      std::vector<std::string> apart;
      for (const std::string& name : set) {
        const ChannelSeries* series = series_of(name);
        if (series != nullptr && series->channel.kind == ChannelKind::sample) {
          remains_.add(name, "was only measured; what moves it is not in this plan's hand");
        } else if (shares_a_lead(name, set)) {
          remains_.add(name, "hang on one lead and cannot be distinguished");
        } else {
          apart.push_back(name);
        }
      }
      if (apart.empty()) continue;
      sets_.push_back(bench::names_text(set) +
                      ": moved together, so nobody knows whose field is whose");
      for (const std::string& name : apart) {
        if (std::ranges::find(out_.separates, name) == out_.separates.end() &&
            bench::find_channel(out_.plan, name) != nullptr) {
          out_.separates.push_back(name);
        }
      }
    }
  }

  // With another of these.
  bool shares_a_lead(const std::string& name, const std::vector<std::string>& set) const {
    const PlanChannel* mine = bench::find_channel(known_, name);
    if (mine == nullptr || mine->lead.empty()) return false;
    return std::ranges::any_of(set, [&](const std::string& other) {
      const PlanChannel* its = bench::find_channel(known_, other);
      return other != name && its != nullptr && its->lead == mine->lead;
    });
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
