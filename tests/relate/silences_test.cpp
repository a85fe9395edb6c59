// Messages that are sent when something changes.
#include "decoder/relate/silences.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <random>
#include <vector>

#include "decoder/relate/fields.h"
#include "decoder/relate/tracks.h"

namespace foundling::relate {
namespace {

// Five frames a tenth of a second apart with every change, one every six seconds without; a cable
// is pulled for a minute in the end. Codes of 16 bits with a noise of one.
class OnChange {
 public:
  OnChange() {
    message_.length = 2;
    std::uniform_int_distribution<int> draw(2000, 2500);
    for (int turn = 0; turn < 12; ++turn) {
      const int level = draw(random_);
      for (int i = 0; i < 5; ++i) send(0.1, level - (400 >> (2 * i)));
      for (int i = 0; i < 2; ++i) send(6, level);
    }
    pulled_s_ = at_s_;
    send(300, 2222);
    send(6, 2222);
  }

  [[nodiscard]] Field field() const {
    Field field;
    field.place.span = *parse_span("0.7..1.0");
    field.moved_bits = 12;
    field.rows = rows_on(message_, std::nullopt);
    field.period_s = at_s_ / static_cast<double>(field.rows.size() - 1);
    measure_silences(message_, field);
    return field;
  }
  [[nodiscard]] const MessageSeries& message() const { return message_; }
  [[nodiscard]] double pulled_s() const { return pulled_s_; }

 private:
  void send(double after_s, int level) {
    at_s_ += after_s;
    const double code = std::round(level + normal_(random_));
    std::array<std::uint8_t, 2> bytes{};
    insert(*parse_span("0.7..1.0"), static_cast<std::uint64_t>(code), bytes);
    message_.t_ns.push_back(static_cast<std::int64_t>(at_s_ * 1e9));
    message_.bytes.insert(message_.bytes.end(), bytes.begin(), bytes.end());
  }

  std::mt19937_64 random_{3};
  std::normal_distribution<double> normal_;
  MessageSeries message_;
  double at_s_ = 0;
  double pulled_s_ = 0;
};

}  // namespace

TEST_CASE("a code stands until the next frame of a message that is sent when something changes") {
  const OnChange board;
  const Field field = board.field();
  CHECK(field.silence_s == doctest::Approx(6).epsilon(0.01));
  CHECK(field.sent_on_change);
  const std::vector messages{board.message()};
  const Grid grid = grid_of(messages);
  const Track track = track_of(board.message(), field, grid);
  const auto pulled = static_cast<std::size_t>(board.pulled_s() / grid.window_s);
  CHECK(
      std::ranges::none_of(std::span(track).first(pulled), [](double c) { return std::isnan(c); }));
}

TEST_CASE("and no longer than three of its silences, when the cable is pulled") {
  const OnChange board;
  const std::vector messages{board.message()};
  const Grid grid = grid_of(messages);
  const Track track = track_of(board.message(), board.field(), grid);
  const auto at = [&](double s) { return track[static_cast<std::size_t>(s / grid.window_s)]; };
  CHECK_FALSE(std::isnan(at(board.pulled_s() + 15)));
  CHECK(std::isnan(at(board.pulled_s() + 25)));
  CHECK(std::isnan(at(board.pulled_s() + 290)));
}

TEST_CASE("the noise of what is sent on change is not that of its changes") {
  const OnChange board;
  Field field = board.field();
  measure(board.message(), field);
  CHECK(field.noise > 0.5);
  CHECK(field.noise < 3);
}

TEST_CASE("a period that jitters and loses frames is no sending on change") {
  std::mt19937_64 random(4);
  std::uniform_real_distribution<double> draw(-0.2, 0.2);
  MessageSeries message;
  message.length = 2;
  for (int i = 0; i < 500; ++i) {
    if (random() % 10 == 0) continue;
    message.t_ns.push_back(static_cast<std::int64_t>((i + draw(random)) * 1e8));
    message.bytes.insert(message.bytes.end(), {0, 0});
  }
  Field field;
  field.rows = rows_on(message, std::nullopt);
  measure_silences(message, field);
  CHECK(field.silence_s == doctest::Approx(0.1).epsilon(0.3));
  CHECK_FALSE(field.sent_on_change);
}

}  // namespace foundling::relate
