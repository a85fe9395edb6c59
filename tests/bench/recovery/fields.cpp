#include "tests/bench/recovery/fields.h"

#include <algorithm>
#include <cmath>

namespace foundling::recovery {
namespace {

constexpr double most_frames = 220000;

class FieldDrafter {
 public:
  FieldDrafter(const Session& session, const Recipe& recipe, Rng& rng)
      : session_(session), recipe_(recipe), rng_(rng), packer_(recipe, rng) {}

  std::vector<MessageSpec> run() {
    place_cells();
    place_loose();
    packer_.close();
    std::vector<MessageSpec> messages = packer_.take();
    set_traffic(messages);
    return messages;
  }

 private:
  FieldSpec value_field(std::size_t q, const Encoding& code) {
    const Quantity& quantity = session_.quantities[q];
    const double width = quantity.high - quantity.low;
    FieldSpec field;
    field.quantity = static_cast<int>(q);
    field.code = code;
    field.noise = recipe_.noise_lsb.draw_log(rng_) * code.scale;
    if (code.is_float) field.noise = width * rng_.log_uniform(1e-5, 1e-3);
    if (!code.is_float && code.width == 24) field.noise = code.scale * rng_.log_uniform(1, 20);
    field.delay_s = recipe_.delay_s.draw(rng_);
    field.time_constant_s = recipe_.time_constant_s.draw(rng_);
    if (rng_.chance(0.3)) field.update_s = rng_.pick(std::vector<double>{0.02, 0.05, 0.1, 0.2});
    if (recipe_.gain_error > 0) {
      field.gain = 1 + rng_.uniform(-recipe_.gain_error, recipe_.gain_error);
      const double step = code.is_float ? width / 4096 : code.scale;
      field.zero = rng_.uniform(-recipe_.zero_lsb, recipe_.zero_lsb) * step;
      field.truncates = rng_.chance(0.3);
    }
    if (rng_.chance(recipe_.saturation_chance)) {
      field.least = rng_.chance(0.5) ? quantity.low + 0.15 * width : -1e9;
      field.most = quantity.high - 0.15 * width;
    }
    if (rng_.chance(0.7)) field.reserved_until_s = recipe_.reserved_start_s;
    return field;
  }

  FieldSpec value_field(std::size_t q) {
    const Quantity& quantity = session_.quantities[q];
    const Encoding code =
        draw_encoding(quantity.kind, {quantity.low, quantity.high}, recipe_, rng_);
    return value_field(q, code);
  }

  FieldSpec state_field(std::size_t q) {
    const Quantity& quantity = session_.quantities[q];
    const int count = static_cast<int>(std::lround(quantity.high)) + 1;
    FieldSpec field;
    field.use = FieldSpec::Use::state;
    field.quantity = static_cast<int>(q);
    field.delay_s = recipe_.delay_s.draw(rng_);
    int width = count <= 2 ? 1 : count <= 4 ? 2 : 3;
    if (recipe_.j1939) width = std::max(width, 2);
    if (rng_.chance(0.3)) width = 4;
    field.code.width = width;
    std::vector<std::uint64_t> codes;
    for (std::uint64_t c = 0; c < (1ULL << width); ++c) codes.push_back(c);
    do {
      if (rng_.chance(0.6) || count > 2) rng_.shuffle(codes);
    } while (session_.origins[q] == Origin::machine && betrays_switch(codes));
    field.codes.assign(codes.begin(), codes.begin() + count);
    return field;
  }

  // A machine's code must not have a bit that says nothing but "on": that would be the switch.
  static bool betrays_switch(const std::vector<std::uint64_t>& codes) {
    for (unsigned bit = 0; bit < 4; ++bit) {
      const auto at = [&](std::size_t i) { return (codes[i] >> bit) & 1U; };
      const bool differs = at(0) != at(2);
      if (differs && at(2) == at(3) && at(3) == at(4)) return true;
    }
    return false;
  }

  void place_cells() {
    std::vector<FieldSpec> fields;
    Encoding code;
    double noise = 0, delay = 0, time_constant = 0, update = 0;
    for (std::size_t q = 0; q < session_.quantities.size(); ++q) {
      const Quantity& quantity = session_.quantities[q];
      if (quantity.name.rfind("cell_", 0) != 0) continue;
      FieldSpec field = fields.empty() ? value_field(q) : value_field(q, code);
      if (fields.empty()) {  // one converter measures all cells alike
        code = field.code;
        noise = field.noise, delay = field.delay_s;
        time_constant = field.time_constant_s, update = field.update_s;
      }
      field.noise = noise, field.delay_s = delay;
      field.time_constant_s = time_constant, field.update_s = update;
      fields.push_back(std::move(field));
    }
    if (recipe_.paged) return packer_.place_on_pages(fields);
    if (recipe_.fd) packer_.open(64);
    for (FieldSpec& field : fields) packer_.place(std::move(field));
    packer_.close();
  }

  void place_loose() {
    std::vector<FieldSpec> fields;
    for (std::size_t q = 0; q < session_.quantities.size(); ++q) {
      const Quantity& quantity = session_.quantities[q];
      if (!session_.sent[q] || quantity.name.rfind("cell_", 0) == 0) continue;
      const bool is_state = quantity.kind == Kind::state;
      fields.push_back(is_state ? state_field(q) : value_field(q));
      if (!is_state && rng_.chance(0.08)) fields.push_back(value_field(q));  // in a second place
    }
    for (int i = 0; i < recipe_.walks; ++i) {
      FieldSpec walk;
      walk.use = FieldSpec::Use::walk;
      walk.code.width = 8;
      fields.push_back(walk);
    }
    for (int i = 0; i < 3; ++i) {
      FieldSpec constant;
      constant.use = FieldSpec::Use::constant;
      constant.code.width = recipe_.packed ? rng_.integer(2, 14) : 8;
      constant.codes = {rng_.next() & ((1ULL << constant.code.width) - 1)};
      fields.push_back(constant);
    }
    rng_.shuffle(fields);
    for (FieldSpec& field : fields) packer_.place(std::move(field));
  }

  void set_traffic(std::vector<MessageSpec>& messages) {
    const double duration = session_.plan.duration_s;
    const bool two_buses = rng_.chance(0.15);
    double frames = 0;
    for (MessageSpec& message : messages) {
      message.bus = two_buses && rng_.chance(0.5) ? 1 : 0;
      message.event_driven = message.pages.empty() && rng_.chance(recipe_.event_driven_chance);
      const auto pages = static_cast<double>(std::max<std::size_t>(message.pages.size(), 1));
      message.period_s = rng_.pick(recipe_.periods_s);
      // Every plateau should see several frames of each page.
      while (message.period_s * pages * 5 > recipe_.dwell_s.low && message.period_s > 0.009 &&
             recipe_.periods_s.size() > 1) {
        message.period_s /= 2;
      }
      if (message.event_driven) message.period_s = rng_.uniform(5, 10);
      frames += duration / message.period_s;
    }
    while (frames > most_frames) {  // slow the busiest one down
      const auto busiest = std::min_element(messages.begin(), messages.end(),
                                            [](const MessageSpec& a, const MessageSpec& b) {
                                              return a.period_s + (a.pages.empty() ? 0 : 1e3) <
                                                     b.period_s + (b.pages.empty() ? 0 : 1e3);
                                            });
      frames -= duration / busiest->period_s / 2;
      busiest->period_s *= 2;
    }
  }

  const Session& session_;
  const Recipe& recipe_;
  Rng& rng_;
  Packer packer_;
};

}  // namespace

std::vector<MessageSpec> draw_messages(const Session& session, const Recipe& recipe, Rng& rng) {
  return FieldDrafter(session, recipe, rng).run();
}

}  // namespace foundling::recovery
