#include "tests/analysis/series_board.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <random>
#include <string>

namespace foundling::test {
namespace {

constexpr std::int64_t second = 1'000'000'000;
constexpr int levels = 9;
constexpr std::int64_t dwell = 4 * second;

std::string cell_name(int number) {
  return (number < 10 ? "cell_0" : "cell_") + std::to_string(number);
}

class Maker {
 public:
  explicit Maker(const SeriesWishes& wishes) : wishes_(wishes), random_(wishes.seed) {
    for (int n = 0; n < wishes.cells; ++n) rest_.push_back(3.28 + 0.02 * share());
  }

  SeriesBoard make() {
    SeriesBoard board;
    cells_ = rest_;
    start_messages(board);
    for (const int moved : wishes_.moved) {
      const int shown = moved == wishes_.misnumbered ? moved + 1 : moved;
      board.channels.push_back({{cell_name(shown), "V", ChannelKind::hold}, {}});
    }
    if (wishes_.pack_voltage) {
      board.channels.push_back({{"pack_voltage", "V", ChannelKind::sample}, {}});
    }
    for (std::size_t m = 0; m < wishes_.moved.size(); ++m) move(board, m);
    return board;
  }

 private:
  double share() { return static_cast<double>(random_() % 1000) / 999; }

  void start_messages(SeriesBoard& board) {
    const int count = wishes_.row == Row::identifiers ? (wishes_.cells + 3) / 4 : 1;
    for (int i = 0; i < count; ++i) {
      MessageSeries m;
      const std::uint32_t id = wishes_.row == Row::pages       ? 0x1B0U
                               : wishes_.row == Row::one_frame ? 0x2A0U
                                                               : 0x300U + static_cast<unsigned>(i);
      m.id = CanId::standard(id);
      m.length = wishes_.row == Row::one_frame ? 64 : 8;
      board.messages.push_back(m);
    }
  }

  // One cell through its levels, then back to rest.
  void move(SeriesBoard& board, std::size_t which) {
    const auto cell = static_cast<std::size_t>(wishes_.moved[which] - 1);
    std::vector<double> steps(levels);
    for (int i = 0; i < levels; ++i) steps[static_cast<std::size_t>(i)] = 2.7 + 0.1 * i;
    std::shuffle(steps.begin(), steps.end(), random_);
    steps.push_back(rest_[cell]);
    for (const double volts : steps) {
      cells_[cell] = volts;
      board.channels[which].readings.push_back({now_, volts, 0.0005, ""});
      if (wishes_.pack_voltage) {
        const double sum = std::accumulate(cells_.begin(), cells_.end(), 0.0);
        board.channels.back().readings.push_back({now_ + dwell / 2, sum, 0.01, ""});
      }
      for (const std::int64_t end = now_ + dwell; now_ < end; now_ += second / 20) send(board);
    }
  }

  void put(std::vector<std::uint8_t>& bytes, std::size_t byte, std::size_t cell) {
    if (cell >= cells_.size() || static_cast<int>(cell) + 1 >= wishes_.empty_from) return;
    const double raw = cells_[cell] / 0.001 + 0.7 * noise_(random_);
    const auto at = static_cast<std::uint8_t>(byte);
    insert({{at, 7}, {static_cast<std::uint8_t>(at + 1), 0}},
           static_cast<std::uint64_t>(std::llround(raw)), bytes);
  }

  static void append(MessageSeries& m, std::int64_t t_ns, const std::vector<std::uint8_t>& bytes) {
    m.t_ns.push_back(t_ns);
    m.bytes.insert(m.bytes.end(), bytes.begin(), bytes.end());
  }

  void send(SeriesBoard& board) {
    if (wishes_.row == Row::identifiers) {
      for (std::size_t i = 0; i < board.messages.size(); ++i) {
        std::vector<std::uint8_t> bytes(8, 0);
        for (std::size_t k = 0; k < 4; ++k) put(bytes, 2 * k, 4 * i + k);
        append(board.messages[i], now_, bytes);
      }
      return;
    }
    MessageSeries& m = board.messages[0];
    std::vector<std::uint8_t> bytes(m.length, 0);
    if (wishes_.row == Row::one_frame) {
      for (std::size_t k = 0; k < cells_.size(); ++k) {
        put(bytes, 2 * k + 2 + k / static_cast<std::size_t>(wishes_.gap_every), k);
      }
    } else {
      const auto pages = (cells_.size() + 2) / 3;
      const std::size_t page = m.size() % pages;
      bytes[0] = static_cast<std::uint8_t>(page);
      for (std::size_t k = 0; k < 3; ++k) put(bytes, 1 + 2 * k, 3 * page + k);
    }
    append(m, now_, bytes);
  }

  SeriesWishes wishes_;
  std::mt19937_64 random_;
  std::normal_distribution<double> noise_{0, 1};
  std::vector<double> rest_;
  std::vector<double> cells_;
  std::int64_t now_ = 0;
};

}  // namespace

SeriesBoard make_series_board(const SeriesWishes& wishes) { return Maker(wishes).make(); }

}  // namespace foundling::test
