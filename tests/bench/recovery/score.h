// Holds the analyser's answer for one random board against the truth. Rank 1 only, unless said.
#pragma once

#include <string>
#include <vector>

#include "decoder/analysis/proposal.h"
#include "decoder/analysis/survey.h"
#include "tests/bench/recovery/chances.h"
#include "tests/bench/recovery/random_board.h"
#include "tests/bench/recovery/ranks.h"

namespace foundling::recovery {

struct Ratio {
  int good = 0;
  int of = 0;
  void add(bool is_good) {
    good += is_good ? 1 : 0;
    ++of;
  }
  Ratio& operator+=(const Ratio& other) {
    good += other.good;
    of += other.of;
    return *this;
  }
  [[nodiscard]] double percent() const { return of == 0 ? 100.0 : 100.0 * good / of; }
};

struct Figures {
  // of excited, unconfounded channels that the board sends
  Ratio found;        // message, page, lowest bit, byte order
  Ratio span;         // exact, or exact on the moved bits and the rest marked untested
  Ratio sign;         // where the top bit moved
  Ratio scale_exact;  // as the maker's papers have it
  Ratio scale_near;   // within 0.5 %
  Ratio offset;       // within one LSB of the maker's, or of the session's true line
  Ratio right;        // found, and all of span, sign, scale within 0.5 %, offset; words; curve
  Ratio scale_interval, offset_interval;    // hold the session's true line
  StatedChances chances;                    // for channels with no signal
  RankHistogram scale_ranks, offset_ranks;  // of that line in the intervals
  Ratio curve;     // fields on a curve: the table is within 1 % of the range, or two codes, of it
  Ratio delay;     // delay plus time constant within 0.15 s (information)
  Ratio words;     // state channels: every code seen has its word
  Ratio verdict;   // found ones called strong (information)
  Ratio inferred;  // never moved members of series of which two were: place proposed
  Ratio inferred_claims;       // inferred proposals that are at their place
  Ratio silence;               // channels with no signal: no proposal of any rank
  Ratio chance_05, chance_01;  // of the same: whose best stated chance is that small
  Ratio absent_strong;         // of the same: with a strong proposal
  Ratio slips_named;           // wrong readings of excited channels: named as unfit
  Ratio slip_kinds;            // of these: of a kind that would have given them (information)
  Ratio accused;               // right readings of all channels: named as unfit
  Ratio unanswered;  // channels without a strong first proposal: reason and advice are given
  Ratio confounded;  // sets: every member ambiguous with all others, and advice names a member
  Ratio few_named;   // channels with too few levels named in the advice (information)
  int channels = 0;
  int false_strong = 0;  // strong proposals of any rank at a wrong place, or wrong
  int wrong_strong = 0;  // of these, at the right place with a wrong scale, sign or width
  int derived_hits = 0, derived_misses = 0;  // derived proposals at a computed signal, or not
  Ratio counters, checksums, selectors;      // found
  Ratio counter_claims, checksum_claims, selector_claims;  // claims that are true
  int boards = 0;
  double seconds = 0;  // of survey and search

  Figures& operator+=(const Figures& other);
};

struct BoardScore {
  Figures figures;
  std::vector<std::string> misses;  // one line each: what was wrong, truth beside proposal
};

[[nodiscard]] BoardScore score_board(const RandomBoard& board, const Survey& survey,
                                     const Correlation& answer);
[[nodiscard]] BoardScore score_survey(const RandomBoard& board, const Survey& survey);

// The parts, for the above.
void score_survey(const RandomBoard& board, const Survey& survey, BoardScore& score);
void score_channels(const RandomBoard& board, const Correlation& answer, BoardScore& score);
void score_readings(const RandomBoard& board, const Correlation& answer, BoardScore& score);

}  // namespace foundling::recovery
