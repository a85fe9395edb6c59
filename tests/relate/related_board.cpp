#include "tests/relate/related_board.h"

#include <algorithm>
#include <cmath>

namespace foundling::relate {
namespace {

constexpr double step_s = 0.01;

double at(const std::vector<double>& path, double t_s) {
  const auto i = static_cast<std::size_t>(std::max(0.0, t_s / step_s));
  return path[std::min(i, path.size() - 1)];
}

}  // namespace

RelatedBoard::RelatedBoard(std::uint64_t seed, RelatedBoardKind kind)
    : random_(seed), has_sum_(kind.has_sum) {
  order_ = uniform(0, 1) < 0.5 ? ByteOrder::big : ByteOrder::little;
  draw_paths(kind);
  send_cells();
  send_total();
  send_decoys();
  read_meter(kind);
  if (kind.switched) send_switched();
  std::ranges::sort(messages, {}, [](const MessageSeries& m) { return m.id.number(); });
}

double RelatedBoard::uniform(double low, double high) {
  return low + (high - low) * static_cast<double>(random_() >> 11U) * 0x1.0p-53;
}

double RelatedBoard::normal() {
  double sum = -6;
  for (int i = 0; i < 12; ++i) sum += uniform(0, 1);
  return sum;
}

void RelatedBoard::draw_paths(const RelatedBoardKind& kind) {
  const auto steps = static_cast<std::size_t>(kind.seconds / step_s);
  // Levels held for some seconds each: of the load, of each cell by itself, of the other quantity.
  const auto levels = [&](double size, double hold_s) {
    std::vector<double> path(steps);
    double level = 0;
    double until = uniform(0, hold_s);
    for (std::size_t i = 0; i < steps; ++i) {
      if (static_cast<double>(i) * step_s > until) {
        level = uniform(-size, size);
        until += uniform(0.5 * hold_s, 1.5 * hold_s);
      }
      path[i] = level;
    }
    return path;
  };
  current_ = levels(40, 8);
  own_ = levels(1.5, 6);
  whole_.assign(steps, 0);
  for (int c = 0; c < kind.cells; ++c) {
    const double rest = uniform(3.2, 3.4);
    const double resistance = uniform(0.0008, 0.0012);
    const std::vector<double> own =
        c < kind.moved ? levels(0.2, 30) : std::vector<double>(steps, 0.0);
    std::vector<double> path(steps);
    for (std::size_t i = 0; i < steps; ++i) {
      path[i] = rest + own[i] + resistance * current_[i];
      whole_[i] += path[i];
    }
    cell_paths_.push_back(std::move(path));
  }
}

void RelatedBoard::add(std::uint32_t id, double period_s, double delay_s,
                       const std::vector<std::vector<double>>& paths,
                       const std::vector<double>& scales, const std::vector<double>& noises) {
  MessageSeries message;
  message.id = CanId::standard(id);
  message.length = 8;
  const double seconds = static_cast<double>(current_.size()) * step_s;
  for (double t = uniform(0, period_s); t < seconds; t += period_s) {
    message.t_ns.push_back(static_cast<std::int64_t>((t + uniform(0, 0.0005)) * 1e9));
    std::array<std::uint8_t, 8> bytes{};
    for (std::size_t f = 0; f < paths.size(); ++f) {
      const auto lsb = static_cast<std::uint8_t>(2 * f + (order_ == ByteOrder::big ? 1 : 0));
      const double value = at(paths[f], t - delay_s) / scales[f] + noises[f] * normal();
      const auto code = static_cast<std::uint64_t>(std::llround(std::clamp(value, 0.0, 65534.0)));
      insert(*Span::from_lsb({lsb, 0}, 16, order_), code, bytes);
    }
    message.bytes.insert(message.bytes.end(), bytes.begin(), bytes.end());
  }
  messages.push_back(std::move(message));
}

void RelatedBoard::send_cells() {
  for (std::size_t first = 0; first < cell_paths_.size(); first += 3) {
    const std::size_t n = std::min<std::size_t>(3, cell_paths_.size() - first);
    const std::vector paths(cell_paths_.begin() + static_cast<std::ptrdiff_t>(first),
                            cell_paths_.begin() + static_cast<std::ptrdiff_t>(first + n));
    const auto id = static_cast<std::uint32_t>(0x300 + first / 3);
    add(id, 0.05, uniform(0, 0.2), paths, std::vector(n, scale), std::vector(n, 0.6));
    for (std::size_t f = 0; f < n; ++f) {
      const auto lsb = static_cast<std::uint8_t>(2 * f + (order_ == ByteOrder::big ? 1 : 0));
      cells.push_back({CanId::standard(id), *Span::from_lsb({lsb, 0}, 16, order_)});
    }
  }
}

void RelatedBoard::send_total() {
  std::vector<double> path = whole_;
  if (!has_sum_) {
    for (std::size_t i = 0; i < path.size(); ++i) path[i] = 40 + own_[i];
  }
  add(0x200, 0.1, uniform(0, 0.3), {path}, {total_scale}, {0.4});
  const auto lsb = static_cast<std::uint8_t>(order_ == ByteOrder::big ? 1 : 0);
  total = {CanId::standard(0x200), *Span::from_lsb({lsb, 0}, 16, order_)};
}

void RelatedBoard::send_decoys() {
  std::vector<double> walk(current_.size());
  std::vector<double> drift(current_.size());
  double level = 30000;
  for (std::size_t i = 0; i < walk.size(); ++i) {
    level = std::clamp(level + normal() * 2, 1000.0, 60000.0);
    walk[i] = level;
    drift[i] = 3300 + 200 * std::sin(static_cast<double>(i) * step_s / 40);
  }
  std::vector<double> current = current_;
  for (double& one : current) one += 100;
  add(0x400, 0.02, 0.05, {current, walk}, {0.01, 1}, {1, 3});
  add(0x410, 0.2, 0, {drift}, {1}, {2});
}

// 0x210: the voltage behind the switch, and in bit 2.0 or 3.0 whether that is closed. 0x420: a
// temperature, and whether it is too high, with hysteresis.
void RelatedBoard::send_switched() {
  std::vector<double> link(whole_.size());
  std::vector<double> closed(whole_.size());
  std::vector<double> celsius(whole_.size());
  std::vector<double> warning(whole_.size());
  double volt = 0;
  double degrees = 20;
  double speed = 1;
  for (std::size_t i = 0; i < whole_.size(); ++i) {
    const double t = static_cast<double>(i) * step_s;
    closed[i] = std::fmod(t, 30) > 15 ? 1 : 0;
    volt += closed[i] > 0 ? 0.05 * (whole_[i] - volt) : -0.004 * volt;
    link[i] = volt;
    if (i % 1300 == 0) speed = (speed > 0 ? -1 : 1) * uniform(1.5, 2.5);
    degrees = std::clamp(degrees + speed * step_s, 10.0, 45.0);
    celsius[i] = degrees;
    const bool before = i > 0 && warning[i - 1] > 0;
    warning[i] = (before ? degrees > 25 : degrees > 28) ? 1 : 0;
  }
  add(0x210, 0.05, 0, {link, closed}, {0.02, 1}, {0.4, 0});
  add(0x420, 0.1, 0, {celsius, warning}, {0.05, 1}, {0.4, 0});
}

void RelatedBoard::read_meter(const RelatedBoardKind& kind) {
  ChannelSeries volt{{"pack_voltage", "V", ChannelKind::sample}, {}};
  ChannelSeries ampere{{"pack_current", "A", ChannelKind::sample}, {}};
  const double seconds = static_cast<double>(whole_.size()) * step_s;
  for (int i = 0; i < kind.readings; ++i) {
    // A person reads when the meter has settled: nearly two seconds without a step around it.
    double t = 0;
    for (int turn = 0; turn < 400; ++turn) {
      t = seconds * (i + uniform(0.1, 0.9)) / kind.readings;
      if (std::abs(at(whole_, t - 0.8) - at(whole_, t + 0.8)) < 1e-9) break;
    }
    Reading reading;
    reading.t_ns = static_cast<std::int64_t>(t * 1e9);
    reading.uncertainty = 0.005;
    reading.value = at(whole_, t) - kind.wire * at(current_, t) + 0.005 * normal();
    volt.readings.push_back(reading);
    reading.value = at(current_, t);
    ampere.readings.push_back(reading);
  }
  channels = {volt, ampere};
}

}  // namespace foundling::relate
