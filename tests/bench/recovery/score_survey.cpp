// The figures of the survey: counters, checksums and selectors found, and claims that are false.
#include <algorithm>

#include "tests/bench/recovery/place.h"
#include "tests/bench/recovery/score.h"

namespace foundling::recovery {
namespace {

std::string at(const TrueMessage& message, const Span& span) {
  return describe(FieldPlace{message.bus, message.id, {}, span});
}

class SurveyJudge {
 public:
  SurveyJudge(const RandomBoard& board, BoardScore& score) : board_(board), score_(score) {}

  void judge(const TrueMessage& truth, const MessageSurvey& said) {
    series_ = find_message(board_.messages, truth.bus, truth.id);
    judge_counters(truth, said);
    judge_checksums(truth, said);
    judge_selectors(truth, said);
  }

 private:
  void judge_counters(const TrueMessage& truth, const MessageSurvey& said) {
    const auto agree = [this](const TrueCounter& t, const CounterFinding& s) {
      return same_values(t.span, s.span) && t.step == s.step && t.modulus == s.modulus;
    };
    for (const TrueCounter& t : truth.counters) {
      const bool hit = std::any_of(said.counters.begin(), said.counters.end(),
                                   [&](const CounterFinding& s) { return agree(t, s); });
      note(score_.figures.counters, hit,
           "counter missed: " + at(truth, t.span) + " modulo " + std::to_string(t.modulus));
    }
    for (const CounterFinding& s : said.counters) {
      const bool real = std::any_of(truth.counters.begin(), truth.counters.end(),
                                    [&](const TrueCounter& t) { return agree(t, s); });
      note(score_.figures.counter_claims, real,
           "counter false: " + at(truth, s.span) + " step " + std::to_string(s.step) + " modulo " +
               std::to_string(s.modulus));
    }
  }

  void judge_checksums(const TrueMessage& truth, const MessageSurvey& said) {
    const auto agree = [this](const TrueChecksum& t, const ChecksumFinding& s) {
      return same_values(t.span, s.span) && t.kind == s.kind && t.polynomial == s.polynomial;
    };
    for (const TrueChecksum& t : truth.checksums) {
      const bool hit = std::any_of(said.checksums.begin(), said.checksums.end(),
                                   [&](const ChecksumFinding& s) { return agree(t, s); });
      note(score_.figures.checksums, hit,
           "checksum missed: " + at(truth, t.span) + " " + t.kind + " " + t.polynomial);
    }
    for (const ChecksumFinding& s : said.checksums) {
      const bool real = std::any_of(truth.checksums.begin(), truth.checksums.end(),
                                    [&](const TrueChecksum& t) { return agree(t, s); });
      note(score_.figures.checksum_claims, real,
           "checksum false: " + at(truth, s.span) + " " + s.kind + " " + s.polynomial);
    }
  }

  // All ones or all zeros: a board that says nothing yet, or no more.
  static bool is_silence(std::span<const std::uint8_t> row) {
    return (row[0] == 0x00 || row[0] == 0xFF) &&
           std::ranges::all_of(row, [&](std::uint8_t byte) { return byte == row[0]; });
  }

  // Top bits that were never anything but 0 while the board spoke may be in or out.
  bool same_values(const Span& truth, const Span& said) const {
    if (said.last_byte() >= series_->length || truth.lsb != said.lsb) return false;
    for (std::size_t i = 0; i < series_->size(); ++i) {
      const auto row = series_->row(i);
      if (!is_silence(row) && extract(truth, row) != extract(said, row)) return false;
    }
    return true;
  }

  bool agree(const TrueSelector& t, const SelectorFinding& s) const {
    if (!same_values(t.span, s.span)) return false;
    std::vector<std::uint64_t> pages = t.values;
    std::sort(pages.begin(), pages.end());
    return pages == s.values;
  }

  void judge_selectors(const TrueMessage& truth, const MessageSurvey& said) {
    for (const TrueSelector& t : truth.selectors) {
      const bool hit = std::any_of(said.selectors.begin(), said.selectors.end(),
                                   [&](const SelectorFinding& s) { return agree(t, s); });
      note(score_.figures.selectors, hit, "selector missed: " + at(truth, t.span));
    }
    for (const SelectorFinding& s : said.selectors) {
      const bool real = std::any_of(truth.selectors.begin(), truth.selectors.end(),
                                    [&](const TrueSelector& t) { return agree(t, s); });
      note(score_.figures.selector_claims, real,
           "selector false: " + at(truth, s.span) + " of " + std::to_string(s.values.size()) +
               " values");
    }
  }

  void note(Ratio& ratio, bool good, const std::string& what) {
    ratio.add(good);
    if (!good) score_.misses.push_back(what);
  }

  const RandomBoard& board_;
  BoardScore& score_;
  const MessageSeries* series_ = nullptr;
};

}  // namespace

void score_survey(const RandomBoard& board, const Survey& survey, BoardScore& score) {
  SurveyJudge judge(board, score);
  for (const TrueMessage& truth : board.truth.messages) {
    MessageSurvey said;
    for (const MessageSurvey& message : survey.messages) {
      if (message.bus == truth.bus && message.id == truth.id) said = message;
    }
    judge.judge(truth, said);
  }
}

}  // namespace foundling::recovery
