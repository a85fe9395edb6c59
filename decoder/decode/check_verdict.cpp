#include "decoder/decode/check_verdict.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <limits>
#include <numeric>

namespace foundling {
namespace {

std::string figure(double value) {
  std::array<char, 32> text{};
  std::snprintf(text.data(), text.size(), "%.3g", value);
  return text.data();
}

std::vector<double> errors_of(const Pairs& pairs) {
  std::vector<double> errors;
  for (std::size_t i = 0; i < pairs.bench.size(); ++i) {
    errors.push_back(pairs.signal[i] - pairs.bench[i]);
  }
  return errors;
}

class Judgement {
 public:
  Judgement(SignalCheck& check, const Pairs& pairs, bool hold, double step,
            const CheckOptions& options)
      : check_(check),
        pairs_(pairs),
        hold_(hold),
        step_(step),
        options_(options),
        errors_(errors_of(pairs)),
        kept_(pairs.bench.size()) {
    std::iota(kept_.begin(), kept_.end(), std::size_t{0});
    if (options_.absolute) set_ = options_.absolute(check_.signal);
  }

  void state(std::size_t words) {
    check_.levels = words;
    check_.tolerance = set_.value_or(0);
    leave_out(0.5, 0);  // an error is 0 or 1
    add_figures();
    check_.gain = 1;
    if (few(words, 2, "state")) return;
    if (check_.deciding > check_.tolerance) return fail("a state was wrong");
    check_.pass = true;
  }

  void number() {
    const double upper = tolerances();
    add_figures();
    add_gain();
    check_.levels = levels();
    if (few(check_.levels, options_.fewest_levels, "level")) return;
    const double half = student(static_cast<double>(kept_.size()) - 2) * check_.gain_error;
    const bool decided = set_ || options_.share_is_set;  // by a person
    const bool off =
        check_.gain + half < options_.gain_low || check_.gain - half > options_.gain_high;
    const bool unclear = !(half <= options_.most);
    const bool close =
        !(student(static_cast<double>(kept_.size()) - 2) * least_gain_error_ <= options_.most);
    const std::string gain = "gain " + figure(check_.gain) + " ± " + figure(check_.gain_error);
    // With levels that lie close together only what is far beyond them is wrong for sure.
    const double bound = close && !decided ? upper + check_.range : upper;
    if (!(check_.deciding <= bound)) {
      return fail(
          (hold_ ? "the largest error is beyond the tolerance"
                 : percent(options_.percentile) + " of the errors are not within the tolerance") +
          (off ? "; " + gain : ""));
    }
    if (!decided && off) {
      return fail(gain + ", not within " + figure(options_.gain_low) + " to " +
                  figure(options_.gain_high));
    }
    if (!decided && unclear) {
      return untested("the levels are too close together to tell the gain: " + gain);
    }
    if (check_.deciding > check_.tolerance) {
      return untested("the range of " + figure(check_.range) + ' ' + check_.unit +
                      " is too small for steps of " + figure(step_) + ' ' + check_.unit +
                      " or for what the readings are known to");
    }
    check_.pass = true;
  }

 private:
  void fail(std::string reason) { check_.reason = std::move(reason); }

  void untested(std::string reason) {
    check_.tested = false;
    check_.reason = std::move(reason);
  }

  bool few(std::size_t levels, std::size_t fewest_levels, const std::string& what) {
    if (check_.samples < options_.fewest) {
      const std::string of = hold_ ? "plateau" : "reading";
      untested(std::to_string(check_.samples) + ' ' + of + "s; at least " +
               std::to_string(options_.fewest) + " needed");
      return true;
    }
    if (levels >= fewest_levels) return false;
    untested("the channel had " +
             (levels == 1 ? "one " + what : std::to_string(levels) + ' ' + what + 's') +
             "; at least " + std::to_string(fewest_levels) + " needed");
    return true;
  }

  // Sets the tolerance, and answers what it would be without its upper end. The range is that of
  // the readings that fit best: a slip by ten would make any error pass.
  double tolerances() {
    if (pairs_.bench.empty()) return check_.tolerance = set_.value_or(0);
    const double middle = median(errors_);
    std::ranges::sort(kept_, {}, [&](std::size_t i) { return std::abs(errors_[i] - middle); });
    kept_.resize(kept_.size() - slips_allowed());
    double upper = tolerance_of_kept();
    if (leave_out(upper, middle)) upper = tolerance_of_kept();
    check_.tolerance = set_                    ? *set_
                       : options_.share_is_set ? upper
                                               : std::min(upper, options_.most * check_.range);
    return set_ ? *set_ : upper;
  }

  [[nodiscard]] std::size_t slips_allowed() const {
    if (!hold_) return 0;
    return static_cast<std::size_t>(options_.slips * static_cast<double>(errors_.size()));
  }

  double tolerance_of_kept() {
    double low = std::numeric_limits<double>::infinity(), high = -low, uncertainty = 0;
    double largest = 0;
    for (const std::size_t i : kept_) {
      low = std::min(low, pairs_.bench[i]);
      high = std::max(high, pairs_.bench[i]);
      largest = std::max(largest, std::abs(pairs_.bench[i]));
      uncertainty = std::max(uncertainty, pairs_.uncertainty[i]);
    }
    check_.range = high - low;
    uncertainty_ = uncertainty;
    return options_.share * std::min(check_.range, largest) + options_.steps * step_ +
           options_.coverage * uncertainty;
  }

  // Names what is off by more than `bound`; leaves it out, and says so, where it may be slips.
  bool leave_out(double bound, double middle) {
    if (hold_) {
      for (std::size_t i = 0; i < errors_.size(); ++i) {
        if (std::abs(errors_[i] - middle) > bound) check_.misfits.push_back(misfit(i));
      }
    }
    const bool slips = !set_ && check_.misfits.size() <= slips_allowed();
    kept_.clear();
    for (std::size_t i = 0; i < errors_.size(); ++i) {
      if (!slips || std::abs(errors_[i] - middle) <= bound || !hold_) kept_.push_back(i);
    }
    return slips;
  }

  [[nodiscard]] Misfit misfit(std::size_t i) const {
    Misfit out{pairs_.reading[i], pairs_.t_ns[i], pairs_.bench[i], pairs_.signal[i], {}, {}};
    if (check_.is_state) out.expected_state = pairs_.shown[i];
    return out;
  }

  void add_figures() {
    std::vector<double> sizes;
    double sum = 0, squares = 0;
    for (const std::size_t i : kept_) {
      sum += errors_[i];
      squares += errors_[i] * errors_[i];
      sizes.push_back(std::abs(errors_[i]));
    }
    if (sizes.empty()) return;
    const auto n = static_cast<double>(sizes.size());
    check_.bias = sum / n;
    check_.rms = std::sqrt(squares / n);
    std::ranges::sort(sizes);
    check_.largest = sizes.back();
    const auto rank = static_cast<std::size_t>(std::ceil(options_.percentile * n));
    check_.deciding = hold_ ? sizes.back() : sizes[std::max<std::size_t>(rank, 1) - 1];
  }

  // The straight line of the signal over the channel. Its scatter is never taken for less than
  // quantisation and the readings' uncertainty make. Of a moving channel the largest errors, which
  // do not decide, are left out of it.
  void add_gain() {
    std::vector<double> x, y;
    for (const std::size_t i : kept_) {
      if (std::abs(errors_[i]) > check_.deciding) continue;
      x.push_back(pairs_.bench[i]);
      y.push_back(pairs_.signal[i]);
    }
    const auto n = static_cast<double>(x.size());
    check_.gain = x.empty() ? std::numeric_limits<double>::quiet_NaN() : slope(x, y);
    check_.gain_error = least_gain_error_ = std::numeric_limits<double>::quiet_NaN();
    if (!std::isfinite(check_.gain) || x.size() < 3) return;
    const double mean_x = std::accumulate(x.begin(), x.end(), 0.0) / n;
    const double mean_y = std::accumulate(y.begin(), y.end(), 0.0) / n;
    double sxx = 0, rest = 0;
    for (std::size_t i = 0; i < x.size(); ++i) {
      const double off = y[i] - mean_y - check_.gain * (x[i] - mean_x);
      sxx += (x[i] - mean_x) * (x[i] - mean_x);
      rest += off * off;
    }
    const double floor = step_ * step_ / 12 + uncertainty_ * uncertainty_;
    least_gain_error_ = std::sqrt(floor / sxx);
    check_.gain_error = std::sqrt(std::max(rest / (n - 2), floor) / sxx);
  }

  // Values that lie further apart than a step and the readings' uncertainty.
  [[nodiscard]] std::size_t levels() const {
    std::vector<double> values;
    for (const std::size_t i : kept_) values.push_back(pairs_.bench[i]);
    std::ranges::sort(values);
    std::size_t count = values.empty() ? 0 : 1;
    double last = values.empty() ? 0 : values.front();
    for (const double value : values) {
      if (value - last <= std::max(step_, uncertainty_)) continue;
      ++count;
      last = value;
    }
    return count;
  }

  [[nodiscard]] static std::string percent(double share) { return figure(100 * share) + " %"; }

  SignalCheck& check_;
  const Pairs& pairs_;
  bool hold_;
  double step_;
  const CheckOptions& options_;
  std::vector<double> errors_;
  std::vector<std::size_t> kept_;  // that make the figures
  std::optional<double> set_;
  double uncertainty_ = 0;
  double least_gain_error_ = 0;  // from steps and uncertainties alone
};

}  // namespace

void judge(SignalCheck& check, const Pairs& pairs, bool hold, double step, std::size_t words,
           const CheckOptions& options) {
  Judgement judgement(check, pairs, hold, step, options);
  if (check.is_state) {
    judgement.state(words);
  } else {
    judgement.number();
  }
}

double student(double degrees_of_freedom) {
  if (!(degrees_of_freedom >= 1)) return std::numeric_limits<double>::infinity();
  constexpr double x = 1.959964;
  constexpr double x3 = x * x * x, x5 = x3 * x * x, x7 = x5 * x * x;
  const double n = degrees_of_freedom;
  return x + (x3 + x) / (4 * n) + (5 * x5 + 16 * x3 + 3 * x) / (96 * n * n) +
         (3 * x7 + 19 * x5 + 17 * x3 - 15 * x) / (384 * n * n * n);
}

}  // namespace foundling
