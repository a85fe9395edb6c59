#include "tests/bench/recovery/substitutes.h"

#include <algorithm>
#include <cmath>

namespace foundling::recovery {
namespace {

enum class Sent { zeros, ones, extreme, middle, frozen };  // instead of a value
enum class Scope { board, messages, fields };              // that a disturbance strikes at once

Sent draw_sent(Family family, Rng& rng) {
  using Choices = std::vector<Sent>;
  switch (family) {
    case Family::startup_codes:
      return rng.pick(Choices{Sent::zeros, Sent::zeros, Sent::ones, Sent::middle, Sent::frozen});
    case Family::bursts:
      return rng.pick(Choices{Sent::ones, Sent::ones, Sent::zeros, Sent::extreme});
    case Family::dropout:
      return rng.pick(Choices{Sent::middle, Sent::middle, Sent::frozen});
    case Family::reset:
      return rng.pick(Choices{Sent::zeros, Sent::ones, Sent::middle});
    default:
      return rng.pick(Choices{Sent::zeros, Sent::ones});
  }
}

Scope draw_scope(Family family, Rng& rng) {
  if (family == Family::reset || family == Family::brown_out) return Scope::board;
  return rng.pick(std::vector<Scope>{Scope::board, Scope::messages, Scope::fields});
}

bool measures(const FieldSpec& field) {
  return field.use == FieldSpec::Use::value || field.use == FieldSpec::Use::state;
}

class Disturber {
 public:
  Disturber(Family family, double duration_s, const std::vector<Quantity>& quantities, Rng& rng)
      : family_(family),
        duration_(duration_s),
        quantities_(quantities),
        rng_(rng),
        sent_(draw_sent(family, rng)),
        scope_(draw_scope(family, rng)) {
    startup_s_ = rng.log_uniform(0.5, 20);
    if (family == Family::reset) startup_s_ = rng.uniform(1, 8);
    silent_.from_s = duration_s * rng.uniform(0.3, 0.7);
    silent_.until_s = silent_.from_s + rng.uniform(0.3, 2);
    const bool uniform = sent_ == Sent::zeros || sent_ == Sent::ones;
    whole_payload_ = uniform && rng.chance(family == Family::brown_out ? 0.5 : 0.25);
  }

  void strike(std::vector<MessageSpec>& messages) {
    const std::vector<Window> of_all = draw_windows();
    for (MessageSpec& message : messages) {
      if (family_ == Family::reset) message.silent = silent_;
      switch (scope_) {
        case Scope::board:
          strike(message, of_all);
          break;
        case Scope::messages:
          if (rng_.chance(0.6)) strike(message, draw_windows());
          break;
        case Scope::fields:
          for (FieldSpec& field : message.fields) {
            if (field.use == FieldSpec::Use::value && rng_.chance(0.5)) {
              strike(field, draw_windows());
            }
          }
          break;
      }
    }
  }

 private:
  std::vector<Window> draw_windows() {
    std::vector<Window> windows;
    const auto add = [&](int count, double shortest, double longest) {
      for (int i = 0; i < count; ++i) {
        const double start = rng_.uniform(15, std::max(duration_ - 15, 16.0));
        windows.push_back({start, start + rng_.uniform(shortest, longest)});
      }
    };
    switch (family_) {
      case Family::startup_codes:
        windows.push_back({0, std::clamp(startup_s_ * rng_.uniform(0.8, 1.25), 0.5, 20.0)});
        break;
      case Family::bursts:
        add(rng_.integer(3, 8), 0.2, 5);
        break;
      case Family::dropout:
        add(rng_.integer(1, 2), 5, 30);
        break;
      case Family::reset:
        windows.push_back({0, startup_s_});
        windows.push_back({silent_.until_s, silent_.until_s + startup_s_ * rng_.uniform(0.8, 1.2)});
        break;
      default:
        add(rng_.integer(1, 3), 0.5, 6);
    }
    return windows;
  }

  void strike(MessageSpec& message, const std::vector<Window>& windows) {
    if (whole_payload_) {
      for (const Window& window : windows) {
        message.blanks.push_back({window, sent_ == Sent::ones ? 0xFFU : 0x00U});
      }
      return;
    }
    for (FieldSpec& field : message.fields) {
      if (measures(field)) strike(field, windows);
    }
  }

  // The same code every time: it is the board's word for "nothing measured".
  void strike(FieldSpec& field, const std::vector<Window>& windows) {
    const std::optional<std::uint64_t> code = code_for(field);
    for (const Window& window : windows) field.substitutes.push_back({window, code});
  }

  std::optional<std::uint64_t> code_for(const FieldSpec& field) {
    const int width = field.code.width;
    switch (sent_) {
      case Sent::zeros:
        return 0;
      case Sent::ones:
        return all_ones(width);
      case Sent::extreme:  // the least or the greatest of a signed field
        return rng_.chance(0.5) ? 1ULL << (width - 1) : all_ones(width) >> 1U;
      case Sent::middle:
        return code_inside(field);
      case Sent::frozen:
        break;
    }
    return {};
  }

  // One that the field also sends when it measures.
  std::uint64_t code_inside(const FieldSpec& field) {
    if (field.use == FieldSpec::Use::state) return rng_.pick(field.codes);
    const Quantity& q = quantities_[static_cast<std::size_t>(field.quantity)];
    const double value = q.low + (q.high - q.low) * rng_.uniform(0.1, 0.9);
    return whole_code(field.code, std::round((value - field.code.offset) / field.code.scale));
  }

  Family family_;
  double duration_;
  const std::vector<Quantity>& quantities_;
  Rng& rng_;
  Sent sent_;
  Scope scope_;
  double startup_s_ = 0;
  Window silent_;
  bool whole_payload_ = false;
};

}  // namespace

void disturb_messages(Family family, double duration_s, const std::vector<Quantity>& quantities,
                      std::vector<MessageSpec>& messages, Rng& rng) {
  if (family < Family::startup_codes || family > Family::brown_out) return;
  Disturber(family, duration_s, quantities, rng).strike(messages);
}

}  // namespace foundling::recovery
