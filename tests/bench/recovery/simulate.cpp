#include "tests/bench/recovery/simulate.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>
#include <optional>

namespace foundling::recovery {
namespace {

// A field at work: its filtered course, its last measurement, its counter.
class Sender {
 public:
  Sender(const FieldSpec& spec, const std::vector<Quantity>& quantities, Rng& rng)
      : spec_(spec), rng_(rng) {
    if (spec.quantity >= 0) {
      const Track& path = quantities[static_cast<std::size_t>(spec.quantity)].path;
      course_ = path.filtered(spec.time_constant_s);
    }
    phase_ = spec.update_s > 0 ? rng.uniform(0, spec.update_s) : 0;
    walk_ = static_cast<std::uint64_t>(rng.integer(0, 255)) & all_ones(spec.code.width);
    counter_ = static_cast<std::uint64_t>(rng.integer(0, static_cast<int>(spec.modulus) - 1));
  }

  std::uint64_t raw_at(double t, std::uint64_t page_value) {
    if (const Substitute* substitute = spec_.substitute_at(t)) {
      if (substitute->code) return *substitute->code;
      if (!last_) last_ = measured_code(t, page_value);
      return *last_;
    }
    last_ = measured_code(t, page_value);
    return *last_;
  }

  void count() { counter_ = (counter_ + static_cast<std::uint64_t>(spec_.step)) % spec_.modulus; }
  void restart() { counter_ = 0; }

 private:
  std::uint64_t measured_code(double t, std::uint64_t page_value) {
    switch (spec_.use) {
      case FieldSpec::Use::value:
        return t < spec_.reserved_until_s ? all_ones(spec_.code.width) : value_at(t);
      case FieldSpec::Use::state:
        return spec_.codes[static_cast<std::size_t>(std::lround(course_.at(t - spec_.delay_s)))];
      case FieldSpec::Use::selector:
        return page_value;
      case FieldSpec::Use::counter:
        return counter_;
      case FieldSpec::Use::walk:
        walk_ =
            (walk_ + static_cast<std::uint64_t>(rng_.integer(-3, 3))) & all_ones(spec_.code.width);
        return walk_;
      case FieldSpec::Use::constant:
        return spec_.codes.front();
      case FieldSpec::Use::check:
        break;
    }
    return 0;
  }

  [[nodiscard]] bool curved() const { return spec_.code.curve.shape != SensorCurve::Shape::none; }

  // In the quantity's unit; on a curve, in codes: the converter's noise is behind the sensor.
  double measure(double when) {
    double value = course_.at(when - spec_.delay_s) * spec_.gain + spec_.zero;
    if (curved()) value = code_of(spec_.code.curve, value);
    return value + spec_.noise / (curved() ? spec_.code.scale : 1) * rng_.normal();
  }

  double measured_at(double t) {
    if (spec_.update_s <= 0) return measure(t);
    const double tick = std::floor((t - phase_) / spec_.update_s);
    if (tick != tick_) {
      tick_ = tick;
      held_ = measure(phase_ + tick * spec_.update_s);
    }
    return held_;
  }

  std::uint64_t value_at(double t) {
    double value = measured_at(t);
    if (spec_.least < spec_.most) value = std::clamp(value, spec_.least, spec_.most);
    const Encoding& code = spec_.code;
    if (code.is_float) return std::bit_cast<std::uint32_t>(static_cast<float>(value));
    const double exact = curved() ? value : (value - code.offset) / code.scale;
    return whole_code(code, spec_.truncates ? std::floor(exact) : std::round(exact));
  }

  const FieldSpec& spec_;
  Rng& rng_;
  Track course_{0};
  double phase_ = 0;
  double tick_ = std::numeric_limits<double>::quiet_NaN();
  double held_ = 0;
  std::uint64_t walk_ = 0;
  std::uint64_t counter_ = 0;
  std::optional<std::uint64_t> last_;  // what was sent, ahead of any substitute
};

class Line {
 public:
  Line(const MessageSpec& message, const std::vector<Quantity>& quantities, Rng& rng)
      : message_(message),
        seen_(message.fields.size()),
        first_(message.fields.size()),
        first_ordinary_(message.fields.size()) {
    for (const FieldSpec& field : message.fields) senders_.emplace_back(field, quantities, rng);
    result_.series.bus = message.bus;
    result_.series.id = message.id;
    result_.series.length = static_cast<std::uint8_t>(message.length);
    result_.fields.resize(message.fields.size());
    if (!message.page_order.empty()) page_ = message.page_order.front();
  }

  // The payload that the board would send now.
  std::vector<std::uint8_t> compose(double t) {
    std::vector<std::uint8_t> payload(static_cast<std::size_t>(message_.length), message_.padding);
    if (const Substitute* blank = FieldSpec::at(message_.blanks, t)) {
      std::fill(payload.begin(), payload.end(), static_cast<std::uint8_t>(*blank->code));
      return payload;
    }
    const std::uint64_t page = message_.pages.empty() ? 0 : message_.pages[page_];
    for (std::size_t i = 0; i < message_.fields.size(); ++i) {
      const FieldSpec& field = message_.fields[i];
      if (field.page >= 0 && static_cast<std::size_t>(field.page) != page_) continue;
      const std::uint64_t raw = field.use == FieldSpec::Use::check
                                    ? check_value(field.check, field.span, message_.id, payload)
                                    : senders_[i].raw_at(t, page);
      insert(field.span, raw, payload);
    }
    return payload;
  }

  void send(double t, const std::vector<std::uint8_t>& payload) {
    for (std::size_t i = 0; i < message_.fields.size(); ++i) {
      const FieldSpec& field = message_.fields[i];
      if (field.page >= 0 && static_cast<std::size_t>(field.page) != page_) continue;
      const bool ordinary = t >= field.reserved_until_s && field.substitute_at(t) == nullptr &&
                            FieldSpec::at(message_.blanks, t) == nullptr;
      notice(i, extract(field.span, payload), ordinary);
      senders_[i].count();
    }
    result_.series.t_ns.push_back(std::llround(t * 1e9));
    result_.series.bytes.insert(result_.series.bytes.end(), payload.begin(), payload.end());
    if (message_.pages.empty()) return;
    turn_ = (turn_ + 1) % message_.page_order.size();
    page_ = message_.page_order[turn_];
  }

  void restart() {
    for (Sender& sender : senders_) sender.restart();
    turn_ = 0;
    if (!message_.page_order.empty()) page_ = message_.page_order.front();
  }

  SentMessage take() { return std::move(result_); }

 private:
  void notice(std::size_t i, std::uint64_t raw, bool ordinary) {
    if ((seen_[i] & 1U) == 0) first_[i] = raw;
    if (ordinary && (seen_[i] & 2U) == 0) first_ordinary_[i] = raw;
    seen_[i] |= ordinary ? 3U : 1U;
    result_.fields[i].moved_at_all |= raw ^ first_[i];
    if (ordinary) result_.fields[i].moved |= raw ^ first_ordinary_[i];
  }

  const MessageSpec& message_;
  std::vector<Sender> senders_;
  std::vector<unsigned> seen_;
  std::vector<std::uint64_t> first_;
  std::vector<std::uint64_t> first_ordinary_;
  std::size_t turn_ = 0;  // of the pages' round
  std::size_t page_ = 0;
  SentMessage result_;
};

// Worth sending: something moved by more than its noise, or a state changed.
bool differs(const MessageSpec& message, const std::vector<std::uint8_t>& a,
             const std::vector<std::uint8_t>& b) {
  for (const FieldSpec& field : message.fields) {
    if (field.use != FieldSpec::Use::value && field.use != FieldSpec::Use::state) continue;
    const std::uint64_t before = extract(field.span, a);
    const std::uint64_t now = extract(field.span, b);
    if (field.use == FieldSpec::Use::state && before != now) return true;
    const std::uint64_t up = (now - before) & all_ones(field.code.width);
    const std::uint64_t down = (before - now) & all_ones(field.code.width);
    const double deadband = 2 + 4 * field.noise / field.code.scale;
    if (static_cast<double>(std::min(up, down)) > deadband) return true;
  }
  return false;
}

}  // namespace

SentMessage simulate(const MessageSpec& message, const std::vector<Quantity>& quantities,
                     double duration_s, Rng& rng) {
  Line line(message, quantities, rng);
  const double start = rng.uniform(0, std::min(message.period_s, 1.0));
  if (message.event_driven) {
    std::vector<std::uint8_t> sent;
    double sent_at = 0;
    for (double t = start; t < duration_s; t += 0.1 + rng.uniform(0, 0.005)) {
      const std::vector<std::uint8_t> payload = line.compose(t);
      if (!sent.empty() && t - sent_at < message.period_s && !differs(message, sent, payload))
        continue;
      line.send(t, payload);
      sent = payload;
      sent_at = t;
    }
    return line.take();
  }
  double last = 0;
  for (double due = start; due < duration_s; due += message.period_s) {
    const double late = std::abs(rng.normal()) * message.jitter * message.period_s;
    last = std::max(last + 1e-4, due + late);
    if (message.silent && message.silent->holds(last)) {
      line.restart();
      continue;
    }
    line.send(last, line.compose(last));
  }
  return line.take();
}

}  // namespace foundling::recovery
