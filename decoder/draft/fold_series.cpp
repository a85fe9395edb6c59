#include "decoder/draft/fold_series.h"

#include <algorithm>
#include <charconv>
#include <map>
#include <optional>
#include <string>
#include <tuple>
#include <utility>

#include "decoder/draft/draft_signal.h"
#include "schemas/signals/field.h"

namespace foundling {
namespace {

constexpr std::size_t fewest_members = 3;  // two fit any line

struct Member {
  std::int64_t number = 0;
  int digits = 1;
  std::size_t index = 0;  // into the signals
};

struct Numbered {
  std::string base;
  std::int64_t number = 0;
  int digits = 1;  // 2 for "03"
};

// "cell_03" -> cell, 3.
std::optional<Numbered> split(const std::string& name) {
  const auto underscore = name.rfind('_');
  if (underscore == std::string::npos || underscore == 0) return {};
  const std::string digits = name.substr(underscore + 1);
  if (digits.empty() || digits.size() > 6) return {};
  Numbered out{name.substr(0, underscore), 0, 1};
  const char* end = digits.data() + digits.size();
  if (std::from_chars(digits.data(), end, out.number).ptr != end) return {};
  if (digits.find_first_not_of("0123456789") != std::string::npos) return {};
  if (digits.front() == '0') out.digits = static_cast<int>(digits.size());
  return out;
}

using Words = std::vector<std::pair<std::uint64_t, std::string>>;

// Members of one series agree in all but place, evidence, delay, notes and which of the reserved
// codes they were seen to say.
using Likeness = std::tuple<std::string, double, double, std::string, Encoding, bool, int, int,
                            std::string, Words>;

Likeness likeness(const std::string& base, const SignalEntry& entry) {
  Words words;
  for (const StateWord& state : entry.states) words.emplace_back(state.code, state.word);
  return {base,
          entry.scale,
          entry.offset,
          entry.unit,
          entry.encoding,
          entry.words_swapped,
          entry.span.width(),
          entry.span.order() == ByteOrder::single ? 0 : static_cast<int>(entry.span.order()),
          entry.page ? entry.page->selector : std::string(),
          std::move(words)};
}

std::int64_t first_bit(const Span& span, bool big) {
  return big ? span.msb.byte * 8 + (7 - span.msb.bit) : span.lsb.byte * 8 + span.lsb.bit;
}

// The series that `run` would be if its pages and bits follow n div k and n mod k.
SignalEntry as_series(const std::vector<SignalEntry>& signals, const std::vector<Member>& run,
                      std::size_t a_page, bool big) {
  const SignalEntry& first = signals[run[0].index];
  SignalEntry series = first;
  series.numbers = Numbering{run.front().number, run.back().number, run.front().digits};
  const auto by = static_cast<std::int64_t>(a_page);
  const bool paged = first.page.has_value();
  if (paged && run.size() > a_page) {
    const SignalEntry& next = signals[run[a_page].index];
    IndexFormula& page = series.page->value;
    page.from = run[0].number;
    page.operation = a_page == 1 ? IndexFormula::Operation::whole : IndexFormula::Operation::div;
    page.by = by;
    page.times = next.page->value.base - page.base;
    if (page.times == 0) page = IndexFormula{.base = page.base, .times = 0};
  }
  if (a_page < 2) return series;
  SpanStep step;
  step.bits.from = run[0].number;
  if (paged && run.size() > a_page) {
    step.bits.operation = IndexFormula::Operation::mod;
    step.bits.by = by;
  }
  step.big = big && first.span.order() == ByteOrder::single;
  const bool along_big = first.span.order() == ByteOrder::big || step.big;
  step.bits.times =
      first_bit(signals[run[1].index].span, along_big) - first_bit(first.span, along_big);
  if (step.bits.times != 0) series.step = step;
  return series;
}

// Whether member n of the series is where the signal of that number is.
bool holds(const SignalEntry& series, const SignalEntry& signal, std::int64_t n) {
  const auto span =
      series.step ? moved(series.span, series.step->bits.at(n), series.step->big) : series.span;
  if (!span || *span != signal.span) return false;
  return !series.page || series.page->value.at(n) == signal.page->value.base;
}

std::size_t members_that_hold(const std::vector<SignalEntry>& signals,
                              const std::vector<Member>& run, const SignalEntry& series) {
  std::size_t count = 0;
  while (count < run.size() && holds(series, signals[run[count].index], run[count].number)) ++count;
  return count;
}

std::string joined(const std::vector<std::string>& names) {
  std::string text;
  for (const std::string& name : names) text += (text.empty() ? "" : ", ") + name;
  return text;
}

// One line for all members: how many of each verdict, which they are unless they are the most, and
// the figures of the first that was tested. Members of one draft come from one capture and session.
void gather_evidence(SignalEntry& series, const std::vector<SignalEntry>& signals,
                     const std::vector<Member>& run) {
  std::map<std::string, std::vector<std::string>> verdicts;
  const SignalEntry* figures = nullptr;
  std::size_t most = 0;
  for (const Member& member : run) {
    const SignalEntry& signal = signals[member.index];
    if (signal.seen.empty()) continue;
    const std::string& text = signal.seen.front().text;
    const std::string verdict = text.substr(0, text.find(','));
    if (figures == nullptr && verdict != "inferred") figures = &signal;
    verdicts[verdict].push_back(signal.name);
    most = std::max(most, verdicts[verdict].size());
  }
  if (series.seen.empty()) return;
  std::string text = std::to_string(run.size()) + " members";
  bool listed = true;
  for (const auto& [verdict, names] : verdicts) {
    text += ", " + std::to_string(names.size()) + ' ' + verdict;
    if (names.size() == most && listed) {
      listed = false;
    } else {
      text += " (" + joined(names) + ')';
    }
  }
  series.seen.resize(1);
  if (figures != nullptr) {
    text += figures == &signals[run.front().index] ? "; the first: "
                                                   : "; the first tested, " + figures->name + ": ";
    text += figures->seen.front().text;
  }
  series.seen[0].text = text;
}

// "cell_03, cell_07", or "all but cell_01" where that is shorter.
std::string members_named(const std::vector<std::string>& names,
                          const std::vector<SignalEntry>& signals, const std::vector<Member>& run) {
  if (names.size() * 2 <= run.size()) return joined(names);
  std::vector<std::string> others;
  for (const Member& member : run) {
    const std::string& name = signals[member.index].name;
    if (std::ranges::find(names, name) == names.end()) others.push_back(name);
  }
  return "all but " + joined(others);
}

// Notes that all members have, and the others with the names of those that have them.
void gather_notes(SignalEntry& series, const std::vector<SignalEntry>& signals,
                  const std::vector<Member>& run) {
  std::map<std::string, std::vector<std::string>> notes;
  for (const Member& member : run) {
    for (const std::string& note : signals[member.index].notes) {
      notes[note].push_back(signals[member.index].name);
    }
  }
  series.notes.clear();
  for (const auto& [note, names] : notes) {
    series.notes.push_back(
        names.size() == run.size() ? note : members_named(names, signals, run) + ": " + note);
  }
}

// A code that one member was seen to reserve is no number of the others either, which may not have
// said it yet. One that a member said at a start-up only, another later as well, is the latter's.
void gather_reserved(SignalEntry& series, const std::vector<SignalEntry>& signals,
                     const std::vector<Member>& run) {
  for (const Member& member : run) {
    for (const ReservedCode& code : signals[member.index].reserved) {
      const auto known = std::ranges::find(series.reserved, code.codes, &ReservedCode::codes);
      if (known == series.reserved.end()) {
        series.reserved.push_back(code);
      } else if (known->word == startup_word) {
        known->word = code.word;
      }
    }
  }
  std::ranges::sort(series.reserved, {}, &ReservedCode::codes);
}

void take_medians(SignalEntry& series, const std::vector<SignalEntry>& signals,
                  const std::vector<Member>& run) {
  std::vector<double> delays;
  std::vector<double> constants;
  for (const Member& member : run) {
    delays.push_back(signals[member.index].delay_s);
    constants.push_back(signals[member.index].time_constant_s);
  }
  std::ranges::sort(delays);
  std::ranges::sort(constants);
  series.delay_s = delays[delays.size() / 2];
  series.time_constant_s = constants[constants.size() / 2];
}

// The longest series that starts at the first member of `run`, and how many members it has.
std::pair<SignalEntry, std::size_t> longest(const std::vector<SignalEntry>& signals,
                                            const std::vector<Member>& run) {
  std::pair<SignalEntry, std::size_t> best{{}, 0};
  std::size_t same_page = 1;
  const SignalEntry& first = signals[run[0].index];
  while (same_page < run.size() && signals[run[same_page].index].page == first.page) ++same_page;
  for (const bool big : {false, true}) {
    for (const std::size_t a_page : {same_page, std::size_t{1}}) {
      SignalEntry series = as_series(signals, run, a_page, big);
      const std::size_t count = members_that_hold(signals, run, series);
      if (count > best.second) best = {std::move(series), count};
    }
  }
  return best;
}

}  // namespace

std::vector<SignalEntry> fold_series(std::vector<SignalEntry> signals) {
  std::map<Likeness, std::vector<Member>> groups;
  for (std::size_t i = 0; i < signals.size(); ++i) {
    const auto name = split(signals[i].name);
    if (!name || signals[i].numbers || !signals[i].table.empty()) continue;  // each its own curve
    groups[likeness(name->base, signals[i])].push_back({name->number, name->digits, i});
  }
  std::vector<bool> folded(signals.size(), false);
  std::vector<SignalEntry> series;
  for (auto& [like, members] : groups) {
    std::ranges::sort(members, {}, &Member::number);
    for (std::size_t start = 0; start < members.size();) {
      std::size_t stop = start + 1;
      while (stop < members.size() && members[stop].number == members[stop - 1].number + 1) ++stop;
      std::vector<Member> run(members.begin() + static_cast<std::ptrdiff_t>(start),
                              members.begin() + static_cast<std::ptrdiff_t>(stop));
      auto [entry, count] = longest(signals, run);
      if (count < fewest_members) {
        ++start;
        continue;
      }
      run.resize(count);
      entry.name = std::get<0>(like);
      entry.numbers->last = run.back().number;
      gather_evidence(entry, signals, run);
      gather_notes(entry, signals, run);
      gather_reserved(entry, signals, run);
      take_medians(entry, signals, run);
      series.push_back(std::move(entry));
      for (const Member& member : run) folded[member.index] = true;
      start += count;
    }
  }
  for (std::size_t i = 0; i < signals.size(); ++i) {
    if (!folded[i]) series.push_back(std::move(signals[i]));
  }
  return series;
}

}  // namespace foundling
