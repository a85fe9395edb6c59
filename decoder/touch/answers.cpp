#include "decoder/touch/answers.h"

#include <algorithm>
#include <cmath>

namespace foundling::touch {
namespace {

// Scores this near count as equally good: e^3 = 20, as much as two or three places' difference in
// one turn.
constexpr double near = 3;

struct Scored {
  const Candidate* candidate;
  const Entry* entry;
  Followed followed;
  double score;
};

bool same_place(const Candidate& a, const Candidate& b) {
  if (a.message != b.message || a.page != b.page) return false;
  if (!a.span || !b.span) return !a.span && !b.span;
  return a.span->overlaps(*b.span);
}

bool follows(const Candidate& candidate, const Followers& followers) {
  const auto found = followers.find(candidate.message);
  if (!candidate.span || found == followers.end()) return false;
  return std::any_of(found->second.begin(), found->second.end(),
                     [&](const Span& span) { return span.overlaps(*candidate.span); });
}

std::vector<Scored> scored(const TouchTest& test, const Followers& followers) {
  std::vector<Scored> out;
  for (const auto& [candidate, entry] : test.entries()) {
    if (follows(candidate, followers)) continue;
    Followed followed = follow(entry.history, test.draws());
    const double score = entry.log_share + followed.log_evidence;
    out.push_back({&candidate, &entry, std::move(followed), score});
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const Scored& a, const Scored& b) { return a.score > b.score; });
  return out;
}

int good_bits_in(const Scored& field, const std::vector<Scored>& all, double least) {
  int count = 0;
  for (const Scored& one : all) {
    if (one.candidate->is_bit() && one.score >= least &&
        same_place(*one.candidate, *field.candidate))
      ++count;
  }
  return count;
}

// Of the candidates around the best one that are as good: its one bit; with several good bits the
// narrowest field that has most of them.
const Scored& told_of(const Scored& best, const std::vector<Scored>& all) {
  if (!best.candidate->span) return best;
  const double least = best.score - near;
  const Scored* chosen = &best;
  int most = best.candidate->is_bit() ? 1 : good_bits_in(best, all, least);
  for (const Scored& one : all) {
    if (one.score < least || !same_place(*one.candidate, *best.candidate)) continue;
    const int bits = one.candidate->is_bit() ? 1 : good_bits_in(one, all, least);
    const int wide = one.candidate->span->width(), is_wide = chosen->candidate->span->width();
    if (bits > most || (bits == most && wide < is_wide)) {
      chosen = &one;
      most = bits;
    }
  }
  return *chosen;
}

double median(std::vector<int> values) {
  if (values.empty()) return 0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

Answer answer_of(const Scored& from, const TouchTest& test) {
  Answer answer;
  answer.candidate = *from.candidate;
  answer.chance = std::min(1.0, std::exp(-from.score));
  answer.answered = from.followed.answered;
  const double bin_s = static_cast<double>(test.timing().bin_ns()) * 1e-9;
  answer.delay_s = median(from.followed.delays) * bin_s;
  answer.rises = from.followed.up > from.followed.down;
  std::array<double, 2> count{};
  for (std::size_t i = 0; i < from.entry->history.size(); ++i) {
    const std::size_t turn = from.entry->history[i].turn;
    if (std::find(from.followed.at.begin(), from.followed.at.end(), turn) == from.followed.at.end())
      continue;
    const auto to = static_cast<std::size_t>(test.draws()[turn].target);
    answer.value[to] += from.entry->told[i].after;
    answer.value[1 - to] += from.entry->told[i].before;
    ++count[0], ++count[1];
  }
  for (std::size_t i = 0; i < 2; ++i) {
    if (count[i] > 0) answer.value[i] /= count[i];
    if (!from.candidate->span) answer.value[i] /= bin_s;
  }
  return answer;
}

}  // namespace

std::vector<Answer> answers(const TouchTest& test, const Followers& followers, std::size_t most) {
  const std::vector<Scored> all = scored(test, followers);
  std::vector<Answer> out;
  std::vector<const Candidate*> told;
  for (const Scored& one : all) {
    if (out.size() == most) break;
    const auto is_told = [&](const Candidate* c) { return same_place(*c, *one.candidate); };
    if (std::any_of(told.begin(), told.end(), is_told)) continue;
    const Scored& chosen = told_of(one, all);
    told.push_back(chosen.candidate);
    if (chosen.candidate != one.candidate) told.push_back(one.candidate);
    Answer answer = answer_of(chosen, test);
    if (answer.chance < 1) out.push_back(answer);
  }
  return out;
}

}  // namespace foundling::touch
