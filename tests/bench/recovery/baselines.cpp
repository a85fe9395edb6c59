#include "tests/bench/recovery/baselines.h"

#include <cmath>

#include "tests/bench/recovery/place.h"

namespace foundling::recovery {
namespace {

BitPosition big_endian_bit(int k) {
  return {static_cast<std::uint8_t>(k / 8), static_cast<std::uint8_t>(7 - k % 8)};
}

int flip_magnitude(const MessageSeries& message, int k) {
  const BitPosition at = big_endian_bit(k);
  std::size_t flips = 0;
  for (std::size_t i = 1; i < message.size(); ++i) {
    const unsigned now = message.row(i)[at.byte];
    const unsigned before = message.row(i - 1)[at.byte];
    flips += ((now ^ before) >> at.bit) & 1U;
  }
  if (flips == 0) return -100;
  const double rate = static_cast<double>(flips) / static_cast<double>(message.size() - 1);
  return static_cast<int>(std::ceil(std::log10(rate)));
}

// The first field that carries the channel and has numbers and no page.
const TrueField* plain_field(const TrueChannel& channel) {
  if (!channel.excited || channel.fields.empty()) return nullptr;
  const TrueField& field = channel.fields.front();
  return field.states.empty() ? &field : nullptr;
}

void score_toggle(const RandomBoard& board, const TrueField& field, BaselineFigures& figures) {
  const MessageSeries& message = *find_message(board.messages, field.bus, field.id);
  bool end = false;
  bool exact = false;
  for (const Span& span : fields_by_toggle_rate(message)) {
    if (span.width() > 64 || span.lsb != field.span.lsb) continue;
    end = true;
    exact = same_moved_bits(message, field, span);
  }
  figures.toggle_end.add(end);
  figures.toggle_span.add(exact);
}

}  // namespace

std::vector<Span> fields_by_toggle_rate(const MessageSeries& message) {
  std::vector<Span> fields;
  if (message.size() < 2) return fields;
  int start = 0;
  int before = flip_magnitude(message, 0);
  for (int k = 1; k <= message.length * 8; ++k) {
    const bool past_the_end = k == message.length * 8;
    const int magnitude = past_the_end ? -1000 : flip_magnitude(message, k);
    if (magnitude < before) {
      fields.push_back({big_endian_bit(start), big_endian_bit(k - 1)});
      start = k;
    }
    before = magnitude;
  }
  return fields;
}

void score_baselines(const RandomBoard& board, BaselineFigures& figures) {
  const auto regression = fields_by_regression(board.messages, board.channels);
  for (std::size_t c = 0; c < board.channels.size(); ++c) {
    const TrueField* field = plain_field(board.truth.channels[c]);
    if (field == nullptr) continue;
    score_toggle(board, *field, figures);
    const auto& said = regression[c];
    bool message = false, end = false, exact = false, scale = false;
    if (said) {
      const MessageSeries& series = board.messages[said->message];
      message = series.bus == field->bus && series.id == field->id;
      // The method knows no pages: the place is judged as if the page had been given.
      end = message && same_place(series, *field,
                                  FieldPlace{series.bus, series.id, page_of(*field), said->span});
      exact = end && same_moved_bits(series, *field, said->span);
      scale = end && std::abs(said->scale / field->scale - 1) <= 0.005;
    }
    figures.regression_message.add(message);
    figures.regression_end.add(end);
    figures.regression_span.add(exact);
    figures.regression_scale.add(scale);
  }
}

}  // namespace foundling::recovery
