#include "decoder/analysis/cleaned_channel.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "decoder/analysis/change_times.h"
#include "decoder/analysis/line_fit.h"
#include "decoder/analysis/moments.h"
#include "decoder/analysis/observation_priors.h"
#include "decoder/analysis/plateau_points.h"
#include "decoder/analysis/substitutes.h"

namespace foundling {
namespace {

constexpr double unknown = std::numeric_limits<double>::quiet_NaN();

// The readings as the board shows them, and which of them it contradicts.
struct Observed {
  RoughLine line;
  std::vector<Shown> shown;
  std::vector<bool> agrees;  // of each; true also where there is no frame to contradict it
  bool holds = false;        // most readings agree: what is left can be called odd
};

// Of a level: raw.
double tolerance_of(const RoughLine& line, double u) {
  return std::max(odd_level * line.sd, 2 + 3 * std::abs(line.slope) * u);
}

double stated(const Reading& r) { return std::isfinite(r.uncertainty) ? r.uncertainty : 0; }

// The line through the levels that the board showed, by concentration.
std::optional<RoughField> line_through(const std::vector<Shown>& shown,
                                       const ChannelSeries& channel, const RoughLine& first) {
  RowSet set;
  std::vector<double> raw;
  for (const Shown& s : shown) {
    if (s.frames < least_frames) continue;
    const Reading& r = channel.readings[s.reading];
    set.rows.push_back({s.from_ns, s.to_ns, r.value, stated(r), 0, set.plateaus++});
    raw.push_back(s.level);
  }
  return concentrate(set, raw, first);
}

// Levels beyond all that agree, where the field is at its end too.
bool at_an_end(const Observed& o, const ChannelSeries& channel, std::size_t k) {
  double low_x = INFINITY, high_x = -INFINITY, low_raw = INFINITY, high_raw = -INFINITY;
  for (std::size_t i = 0; i < o.shown.size(); ++i) {
    if (!o.agrees[i] || o.shown[i].frames == 0) continue;
    const double x = channel.readings[o.shown[i].reading].value;
    low_x = std::min(low_x, x);
    high_x = std::max(high_x, x);
    low_raw = std::min(low_raw, o.shown[i].level);
    high_raw = std::max(high_raw, o.shown[i].level);
  }
  const double x = channel.readings[o.shown[k].reading].value;
  if (x >= low_x && x <= high_x) return false;
  const double near = end_share * (high_raw - low_raw);
  const bool upper = (x > high_x) == (o.line.slope > 0);
  return upper ? o.shown[k].level > high_raw - near : o.shown[k].level < low_raw + near;
}

Observed observe(const FieldTrack& track, const ChannelSeries& channel, RoughLine line,
                 double usual_s) {
  Observed o;
  for (int round = 0; round < 2; ++round) {
    o.shown = change_times(track, channel, line, usual_s, false);
    const auto better = line_through(o.shown, channel, line);
    if (!better) return o;
    line = better->line;
  }
  o.line = line;
  std::size_t judged = 0;
  std::size_t good = 0;
  for (const Shown& s : o.shown) {
    const double u = stated(channel.readings[s.reading]);
    const bool agrees =
        s.frames < least_frames ||
        std::abs(s.level - line.intercept - line.slope * channel.readings[s.reading].value) <=
            tolerance_of(line, u);
    o.agrees.push_back(agrees);
    if (s.frames < least_frames) continue;
    ++judged;
    good += agrees ? 1 : 0;
  }
  o.holds =
      judged >= 5 && static_cast<double>(good) >= least_agreement * static_cast<double>(judged);
  return o;
}

// The same channel with what the field says in place of the readings that it contradicts: so their
// beginnings can be found too.
ChannelSeries as_shown(const ChannelSeries& channel, const Observed& o) {
  ChannelSeries out = channel;
  for (std::size_t k = 0; k < o.shown.size(); ++k) {
    if (o.agrees[k]) continue;
    out.readings[o.shown[k].reading].value = (o.shown[k].level - o.line.intercept) / o.line.slope;
  }
  return out;
}

struct Lateness {
  bool by_hand = false;  // the stamps differ from what the frames say, each by its own amount
  double usual_s = 0;    // frames after the stamp; negative where it was late
};

Lateness lateness_of(const Observed& o, const ChannelSeries& channel) {
  std::vector<double> behind;
  for (std::size_t k = 1; k < o.shown.size(); ++k) {
    if (!o.shown[k].sharp || !o.agrees[k] || !o.agrees[k - 1]) continue;
    const std::int64_t stamp = channel.readings[o.shown[k].reading].t_ns;
    behind.push_back(static_cast<double>(o.shown[k].from_ns - stamp) * 1e-9);
  }
  Lateness out;
  if (behind.size() < 3) return out;
  out.usual_s = median_of(behind);
  std::sort(behind.begin(), behind.end());
  const double spread = behind[behind.size() - 1 - behind.size() / 10] - behind[behind.size() / 10];
  out.by_hand = spread > hand_spread_s || out.usual_s < -hand_early_s;
  return out;
}

std::int64_t ns(double seconds) { return static_cast<std::int64_t>(seconds * 1e9); }

// Each reading where the board began to show it; where its step does not stand out, as late as the
// others usually are.
void retime(CleanedChannel& out, const Observed& o, const Lateness& late) {
  std::vector<Reading> moved;
  for (const Shown& s : o.shown) {
    Reading r = out.series.readings[s.reading];
    const std::int64_t usual = r.t_ns + ns(late.usual_s);
    std::int64_t begins = s.sharp && s.frames > 0 ? s.from_ns : usual;
    if (moved.empty()) begins = std::min(r.t_ns, s.from_ns);
    r.t_ns = begins - ns(retimed_lead_s);
    if (!moved.empty()) r.t_ns = std::max(r.t_ns, moved.back().t_ns + 1);
    moved.push_back(std::move(r));
  }
  out.series.readings = std::move(moved);
  out.retimed = true;
}

// Where the field stops at an end of its range, a reading beyond that may well be right; unless a
// slip of the hand explains it.
bool is_a_stop(const Observed& o, const ChannelSeries& channel, std::size_t k,
               const OddReading& odd) {
  if (!at_an_end(o, channel, k)) return false;
  const double u = stated(channel.readings[odd.reading]);
  return slip_kind({}, channel, odd, slip_tolerance(o.line, u)) == Slip::unfit;
}

double held_for_s(const Shown& s) { return static_cast<double>(s.to_ns - s.from_ns) * 1e-9; }

// The readings of which one and the same value held at that time.
void forget_plateau(std::vector<Reading>& readings, std::int64_t t_ns) {
  const auto after = std::upper_bound(readings.begin(), readings.end(), t_ns,
                                      [](std::int64_t t, const Reading& r) { return t < r.t_ns; });
  if (after == readings.begin()) return;
  const double value = std::prev(after)->value;
  for (auto r = after; r != readings.begin() && std::prev(r)->value == value; --r) {
    std::prev(r)->value = unknown;
  }
}

// Last of all, what the search will read: plateaus that are still off the line are not known. So it
// is whatever else may have gone wrong with a reading, and nobody is accused of it.
void forget_what_is_off(CleanedChannel& out, const Stream& stream, const RoughField& field,
                        const RoughLine& line) {
  const RowSet set = make_rows(out.series, stream.bits.times().back());
  const auto delay_ns =
      out.retimed ? ns(retimed_lead_s) : std::max<std::int64_t>(field.delay_ns, 0);
  const auto raw = raw_row_means(stream, set, delay_ns, field.span, field.coding);
  const PlateauPoints points(set, raw);
  double before = unknown;
  std::size_t first = 0;
  std::size_t k = 0;
  for (std::size_t i = 0; i < set.rows.size() && k < points.size(); i = first) {
    bool seen = false;
    for (first = i; first < set.rows.size() && set.rows[first].plateau == set.rows[i].plateau;
         ++first) {
      seen = seen || std::isfinite(raw[first]);
    }
    if (!seen) continue;
    const double expected = line.intercept + line.slope * points.x[k];
    const double step = std::isfinite(before) ? std::abs(expected - before) : 0;
    const double near = std::max(tolerance_of(line, points.u[k]), unsettled_share * step);
    before = expected;
    if (std::abs(points.raw[k++] - expected) <= near) continue;
    forget_plateau(out.series.readings, set.rows[i].from_ns);
  }
}

// The board was at the next reading's level already: then the moment is wrong, not the value.
bool is_the_next(const Observed& o, std::size_t k) {
  return k + 1 < o.shown.size() &&
         std::abs(o.shown[k].level - o.shown[k + 1].expected) <= tolerance_of(o.line, 0);
}

// What the field stood still at just before: a board that keeps its last value contradicts a
// reading without the reading being wrong.
bool kept_the_last(const Observed& o, std::size_t k) {
  return k > 0 && o.shown[k - 1].frames >= least_frames &&
         std::abs(o.shown[k].level - o.shown[k - 1].level) <= 2 + 2 * o.line.sd;
}

}  // namespace

double slip_tolerance(const RoughLine& line, double u) {
  return 4 * line.sd / std::abs(line.slope) + 2 * u;
}

CleanedChannel clean_channel(const Stream& stream, const ChannelSeries& channel,
                             const RoughField& field) {
  CleanedChannel out{channel, channel, false, {}, {}};
  const FieldTrack track = field_track(stream, field.span, field.coding, 4000);
  if (channel.channel.kind != ChannelKind::hold) {
    out.substitutes = substitutes_of_moving(stream, channel, field);
    return out;
  }
  Observed o = observe(track, channel, field.line, static_cast<double>(field.delay_ns) * 1e-9);
  if (!o.holds) return out;
  const ChannelSeries corrected = as_shown(channel, o);
  o.shown = change_times(track, corrected, o.line, lateness_of(o, channel).usual_s, true);
  out.substitutes = substitutes_among(stream, field, o.line, o.shown);
  for (std::size_t k = 0; k < o.shown.size(); ++k) {
    if (o.agrees[k]) continue;
    const bool by_substitute =
        std::any_of(out.substitutes.begin(), out.substitutes.end(), [&](const Substitute& s) {
          const auto common =
              std::min(s.to_ns, o.shown[k].to_ns) - std::max(s.from_ns, o.shown[k].from_ns);
          return static_cast<double>(common) * 1e-9 > 0.3 * held_for_s(o.shown[k]);
        });
    const Shown& shown = o.shown[k];
    const OddReading odd{shown.reading, corrected.readings[shown.reading].value,
                         shown.from_ns + (shown.to_ns - shown.from_ns) / 2, shown.to_ns};
    if (by_substitute || kept_the_last(o, k) || is_the_next(o, k) || is_a_stop(o, channel, k, odd))
      continue;
    out.odd.push_back(odd);
  }
  const Lateness late = lateness_of(o, channel);
  for (std::size_t k = 0; k < o.shown.size(); ++k) {
    const std::size_t i = o.shown[k].reading;
    const OddReading odd{i, corrected.readings[i].value, 0, 0};
    if (o.agrees[k] || is_a_stop(o, channel, k, odd)) continue;
    out.series.readings[i].value = unknown;
    out.repaired.readings[i].value = odd.expected;
  }
  if (late.by_hand) retime(out, o, late);
  forget_what_is_off(out, stream, field, o.line);
  return out;
}

namespace {

// The same digits, one pair of neighbours the other way round; or, `misread`, one of them another.
bool like_digits(double written, double right, double tolerance, bool misread) {
  for (int decimals = 0; decimals <= 6; ++decimals) {
    const double unit = std::pow(10.0, decimals);
    const double scaled = std::abs(written) * unit;
    if (scaled > 1e12) break;
    if (std::abs(scaled - std::round(scaled)) > 1e-6 * std::max(1.0, scaled)) continue;
    std::string digits = std::to_string(static_cast<long long>(std::llround(scaled)));
    while (static_cast<int>(digits.size()) <= decimals) digits.insert(digits.begin(), '0');
    const double sign = written < 0 ? -1 : 1;
    const auto fits = [&](const std::string& other) {
      return std::abs(sign * std::stod(other) / unit - right) <= tolerance;
    };
    for (std::size_t i = 0; i + 1 < digits.size(); ++i) {
      std::string other = digits;
      std::swap(other[i], other[i + 1]);
      if (!misread && other != digits && fits(other)) return true;
    }
    for (std::size_t i = 0; misread && i < digits.size(); ++i) {
      for (char digit = '0'; digit <= '9'; ++digit) {
        std::string other = digits;
        other[i] = digit;
        if (other != digits && fits(other)) return true;
      }
    }
    return false;
  }
  return false;
}

// The value that held at a time; NaN before the first.
double held(const ChannelSeries& channel, std::int64_t t_ns) {
  double value = unknown;
  for (const Reading& r : channel.readings) {
    if (r.t_ns > t_ns) break;
    value = r.value;
  }
  return value;
}

}  // namespace

Slip slip_kind(std::span<const ChannelSeries> channels, const ChannelSeries& channel,
               const OddReading& odd, double tolerance) {
  const double x = channel.readings[odd.reading].value;
  const double right = odd.expected;
  const auto is = [&](double value) { return std::abs(value - right) <= tolerance; };
  if (std::abs(x - right) > 2 * tolerance) {
    if (std::abs(x / 10 - right) <= tolerance || std::abs(x * 10 - right) <= 10 * tolerance) {
      return Slip::factor_10;
    }
    if (is(-x)) return Slip::sign;
  }
  if (odd.reading > 0 && channel.readings[odd.reading - 1].value == x) return Slip::previous;
  if (like_digits(x, right, tolerance, false)) return Slip::digits;
  if (odd.reading > 0) {
    // Nearly the value before: it was written down once more, perhaps from another meter's reading.
    const double before = channel.readings[odd.reading - 1].value;
    if (std::abs(x - before) <= tolerance / 2) return Slip::previous;
  }
  const std::int64_t t = channel.readings[odd.reading].t_ns;
  for (const ChannelSeries& other : channels) {
    if (&other == &channel || other.channel.is_state()) continue;
    if (other.channel.unit != channel.channel.unit) continue;
    const double now = held(other, t + 2'000'000'000);
    const double then = held(other, t);
    if (std::abs(now - x) <= tolerance / 2 || std::abs(then - x) <= tolerance / 2) {
      return Slip::neighbour;
    }
  }
  return like_digits(x, right, tolerance, true) ? Slip::digits : Slip::unfit;
}

}  // namespace foundling
