#include <algorithm>
#include <cmath>

#include "decoder/against/blocks.h"
#include "decoder/against/counting.h"
#include "decoder/against/fields.h"
#include "decoder/against/judgements.h"
#include "decoder/against/steady_counts.h"

namespace foundling::held {
namespace {

constexpr double least_shift = 1.5;  // codes: between two neighbouring codes any noise flickers
constexpr double least_noise_ratio = 3;
constexpr double least_noise = 2;       // codes from frame to frame
constexpr double least_movement = 3;    // codes between the ends of what a field moved over
constexpr double of_a_heartbeat = 0.9;  // of all frames flip a bit that is alone

struct Course {
  std::vector<double> values;  // codes, as distances from one code that both recordings share
  std::vector<double> blocks;
  std::vector<double> steps;  // in each block the usual distance from frame to frame
  std::size_t blocks_moved = 0;
  double flips = 0;          // share of frames that differ from the one before
  double low = 0, high = 0;  // less a twentieth at either end

  [[nodiscard]] bool still() const { return blocks_moved == 0 && flips == 0; }
};

// Without the largest twentieth: jumps are not noise.
double usual_step(std::vector<double> steps) {
  if (steps.empty()) return 0;
  std::sort(steps.begin(), steps.end());
  const std::size_t keep = std::max<std::size_t>(1, steps.size() - steps.size() / 20);
  double sum = 0;
  for (std::size_t i = 0; i < keep; ++i) sum += steps[i];
  return sum / static_cast<double>(keep);
}

Course course_of(const std::vector<std::uint64_t>& codes, std::uint64_t zero, int width) {
  Course course;
  for (const std::uint64_t code : codes) {
    course.values.push_back(static_cast<double>(sign_extend(code - zero, width)));
  }
  const std::vector<double>& v = course.values;
  course.blocks = block_means(v);
  for (std::size_t i = 0; i < block_count(v.size()); ++i) {
    const auto [from, to] = block_of(v.size(), i);
    std::vector<double> steps;
    bool moved = false;
    for (std::size_t j = std::max<std::size_t>(from, 1); j < to; ++j) {
      steps.push_back(std::abs(v[j] - v[j - 1]));
      if (steps.back() == 0) continue;
      moved = true;
      course.flips += 1 / static_cast<double>(v.size());
    }
    course.blocks_moved += moved ? 1 : 0;
    course.steps.push_back(usual_step(std::move(steps)));
  }
  std::vector<double> sorted = v;
  std::sort(sorted.begin(), sorted.end());
  course.low = sorted[sorted.size() / 20];
  course.high = sorted[sorted.size() - 1 - sorted.size() / 20];
  return course;
}

// Is on for times that are alike, and off for times that are, as what blinks by a clock is. What
// wavers about a limit, noise or a drift that comes near it, does not: of runs that end by the toss
// of a coin 32 are one or two frames long with a chance of 0.0001.
bool blinks(const std::vector<double>& values) {
  constexpr std::size_t fewest_runs = 32;
  std::vector<std::size_t> flips;
  for (std::size_t i = 1; i < values.size(); ++i) {
    if (values[i] != values[i - 1]) flips.push_back(i);
  }
  if (flips.size() <= fewest_runs) return false;
  for (std::size_t first = 1; first <= 2; ++first) {  // of one code, then of the other
    std::size_t shortest = values.size();
    std::size_t longest = 0;
    for (std::size_t i = first; i < flips.size(); i += 2) {
      shortest = std::min(shortest, flips[i] - flips[i - 1]);
      longest = std::max(longest, flips[i] - flips[i - 1]);
    }
    if (longest > shortest + shortest / 4 + 1) return false;
  }
  return true;
}

// The first recording's end already has the other's level, or the second's beginning still has the
// first's: the step came within a recording, near its edge.
bool stepped_near_the_edge(const Course& a, const Course& b, const Levels& levels) {
  const double near = 0.25 * std::abs(levels.a - levels.b);
  const auto any = [near](const std::vector<double>& v, std::size_t block, double level) {
    const auto [from, to] = block_of(v.size(), block);
    return std::any_of(v.begin() + static_cast<std::ptrdiff_t>(from),
                       v.begin() + static_cast<std::ptrdiff_t>(to),
                       [&](double x) { return std::abs(x - level) < near; });
  };
  return any(a.values, a.blocks.size() - 1, levels.b) || any(b.values, 0, levels.a);
}

class FieldJudge {
 public:
  FieldJudge(const MessagePair& pair, const Stream& stream, const Span& span, Judged& judged)
      : pair_(pair), stream_(stream), span_(span), judged_(judged) {}

  void run() {
    const auto codes_a = codes_of(*pair_.a.series, stream_.rows_a, span_);
    const auto codes_b = codes_of(*pair_.b.series, stream_.rows_b, span_);
    judged_.comparisons += 3;
    if (codes_a.empty() || codes_b.empty()) return;
    zero_ = codes_a[codes_a.size() / 2];
    const Course a = course_of(codes_a, zero_, span_.width());
    const Course b = course_of(codes_b, zero_, span_.width());
    const double order = chance_of_order(a.blocks.size(), b.blocks.size());
    const Levels levels = levels_of(a.blocks, b.blocks);
    if (a.still() && b.still()) {
      if (a.values[0] != b.values[0]) say(DifferenceKind::constant, Side::b, levels, order);
      return;
    }
    if (judge_moves(a, b, levels)) return;
    if (levels.apart(least_shift) && !stepped_near_the_edge(a, b, levels)) {
      say(DifferenceKind::rest, Side::b, levels, order);
    }
    if (apart_in_ratio(a.steps, b.steps, least_noise_ratio)) {
      const Levels steps = levels_of(a.steps, b.steps);
      if (std::max(steps.a, steps.b) < least_noise) return;
      Difference difference = at_field(DifferenceKind::noise, order);
      difference.side = steps.a > steps.b ? Side::a : Side::b;
      difference.a = steps.a;
      difference.b = steps.b;
      judged_.differences.push_back(difference);
    }
  }

 private:
  Difference at_field(DifferenceKind kind, double chance) const {
    Difference difference = pair_.difference(kind);
    difference.page = stream_.page;
    difference.span = span_;
    difference.chance = chance;
    return difference;
  }

  [[nodiscard]] double code_at(double distance) const {
    const int width = span_.width();
    const std::uint64_t mask = width == 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << width) - 1;
    const double whole = std::round(distance);
    const auto code = (zero_ + static_cast<std::uint64_t>(static_cast<std::int64_t>(whole))) & mask;
    return static_cast<double>(code) + (width < 48 ? distance - whole : 0);
  }

  void say(DifferenceKind kind, Side side, const Levels& levels, double chance) {
    Difference difference = at_field(kind, chance);
    difference.side = side;
    difference.a = code_at(levels.a);
    difference.b = code_at(levels.b);
    judged_.differences.push_back(difference);
  }

  bool judge_moves(const Course& a, const Course& b, const Levels& levels) {
    if (a.still() == b.still()) return false;
    const Course& moving = a.still() ? b : a;
    const bool enough =
        moving.high - moving.low >= least_movement ||
        (span_.width() == 1 && (moving.flips >= of_a_heartbeat || blinks(moving.values)));
    if (!enough || moving.blocks_moved < moving.blocks.size()) return false;
    say(DifferenceKind::moves, a.still() ? Side::b : Side::a, levels,
        chance_all_in_one(moving.blocks_moved, a.blocks.size(), b.blocks.size()));
    return true;
  }

  const MessagePair& pair_;
  const Stream& stream_;
  const Span& span_;
  Judged& judged_;
  std::uint64_t zero_ = 0;
};

bool all_ones(const MessageSeries& series, const std::vector<std::size_t>& rows, std::size_t byte) {
  return std::all_of(rows.begin(), rows.end(),
                     [&](std::size_t row) { return series.row(row)[byte] == 0xFF; });
}

// Bytes that are all ones in one recording and not in the other, as runs; they are owned from then
// on: a value that is not there has no other level.
void judge_all_ones(const MessagePair& pair, const Stream& stream, BitSet& owned, Judged& judged) {
  const MessageSeries& a = *pair.a.series;
  const MessageSeries& b = *pair.b.series;
  if (!a.lengths.empty() || !b.lengths.empty()) return;
  std::optional<Difference> run;
  const auto close = [&] {
    if (!run) return;
    const auto& rows = run->side == Side::a ? stream.rows_b : stream.rows_a;
    const auto codes = codes_of(run->side == Side::a ? b : a, rows, *run->span);
    const int width = run->span->width();
    const bool never = std::none_of(codes.begin(), codes.end(), [width](std::uint64_t code) {
      return sign_extend(code, width) == -1;
    });
    if (never) {
      add_span(owned, *run->span);
      judged.differences.push_back(*run);
    }
    run.reset();
  };
  for (std::uint8_t byte = 0; byte < std::min(a.length, b.length); ++byte) {
    const bool in_a = all_ones(a, stream.rows_a, byte);
    const bool in_b = all_ones(b, stream.rows_b, byte);
    BitSet bits;
    add_span(bits, {{byte, 7}, {byte, 0}});
    const Side side = in_a ? Side::a : Side::b;
    if (in_a == in_b || (bits & owned).any()) {
      close();
      continue;
    }
    if (run && (run->side != side || run->span->width() == 64)) close();
    if (!run) {
      run = pair.difference(DifferenceKind::all_ones);
      run->side = side;
      run->page = stream.page;
      run->span = Span{{byte, 7}, {byte, 0}};
      run->chance =
          chance_of_order(block_count(stream.rows_a.size()), block_count(stream.rows_b.size()));
    }
    run->span->lsb.byte = byte;
  }
  close();
}

}  // namespace

void judge_values(const MessagePair& pair, const Form& form, Judged& judged) {
  if (!form.values) return;
  BitSet owned = form.owned;
  if (!form.selector) judge_steady_counts(pair, owned, judged);
  for (const Stream& stream : streams_of(pair, form.selector)) {
    judged.comparisons += pair.a.series->length;  // still bits are compared as well
    BitSet settled = owned;
    judge_all_ones(pair, stream, settled, judged);
    for (const Span& span : changing_fields(pair, stream, settled)) {
      FieldJudge(pair, stream, span, judged).run();
    }
  }
}

}  // namespace foundling::held
