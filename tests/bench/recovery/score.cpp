#include "tests/bench/recovery/score.h"

namespace foundling::recovery {

Figures& Figures::operator+=(const Figures& other) {
  static constexpr Ratio Figures::*ratios[] = {
      &Figures::found,          &Figures::span,           &Figures::sign,
      &Figures::scale_exact,    &Figures::scale_near,     &Figures::offset,
      &Figures::right,          &Figures::scale_interval, &Figures::offset_interval,
      &Figures::curve,          &Figures::delay,          &Figures::words,
      &Figures::verdict,        &Figures::inferred,       &Figures::inferred_claims,
      &Figures::silence,        &Figures::chance_05,      &Figures::chance_01,
      &Figures::unanswered,     &Figures::absent_strong,  &Figures::slips_named,
      &Figures::slip_kinds,     &Figures::accused,        &Figures::confounded,
      &Figures::few_named,      &Figures::counters,       &Figures::checksums,
      &Figures::selectors,      &Figures::counter_claims, &Figures::checksum_claims,
      &Figures::selector_claims};
  static constexpr int Figures::*counts[] = {&Figures::channels,       &Figures::false_strong,
                                             &Figures::wrong_strong,   &Figures::derived_hits,
                                             &Figures::derived_misses, &Figures::boards};
  for (const auto ratio : ratios) this->*ratio += other.*ratio;
  for (const auto count : counts) this->*count += other.*count;
  chances += other.chances;
  scale_ranks += other.scale_ranks;
  offset_ranks += other.offset_ranks;
  seconds += other.seconds;
  return *this;
}

BoardScore score_survey(const RandomBoard& board, const Survey& survey) {
  BoardScore score;
  score.figures.boards = 1;
  score_survey(board, survey, score);
  return score;
}

BoardScore score_board(const RandomBoard& board, const Survey& survey, const Correlation& answer) {
  BoardScore score = score_survey(board, survey);
  score_channels(board, answer, score);
  score_readings(board, answer, score);
  for (std::size_t c = 0; c < board.channels.size(); ++c) {
    if (!board.truth.channels[c].fields.empty()) continue;
    const Channel& channel = board.channels[c].channel;
    score.figures.chances.add(channel, least_chance(answer, channel.name));
  }
  return score;
}

}  // namespace foundling::recovery
