// plan_bench: what bench plans are worth, on the recovery bench's random boards.
#include <algorithm>
#include <array>
#include <cstdio>
#include <cstdlib>
#include <optional>
#include <string>
#include <vector>

#include "decoder/analysis/chance_by_plan.h"
#include "decoder/analysis/correlate.h"
#include "decoder/analysis/survey.h"
#include "decoder/bench/draw.h"
#include "decoder/bench/redraw.h"
#include "decoder/draft/next_plan.h"
#include "tests/bench/recovery/place.h"
#include "tests/bench/recovery/plan_measures.h"
#include "tests/bench/recovery/rng.h"

namespace foundling::recovery {
namespace {

constexpr double hold_s = 10;

struct Wanted {
  std::vector<Family> families;
  std::vector<double> minutes{3, 6, 12};  // of compare
  std::uint64_t first = 1;
  int seeds = 4;
};

Correlation search(const RandomBoard& board) {
  return correlate(board.messages, board.channels, survey(board.messages));
}

// For a line about a miss: what the search says of the channel instead.
std::string what_is_said(const Correlation& answer, const std::string& name) {
  std::string out;
  for (const Proposal& p : answer.proposals) {
    if (p.channel != name || p.derived) continue;
    char text[160];
    std::snprintf(text, sizeof text, "; %X %s rank %d, %s, chance %.3f, %d levels", p.place.id.raw,
                  to_string(p.place.span).c_str(), p.rank,
                  p.verdict == Verdict::strong ? "strong"
                  : p.verdict == Verdict::weak ? "weak"
                                               : "ambiguous",
                  p.chance, p.levels);
    out += text;
    if (!p.note.empty()) out += " (" + p.note + ')';
  }
  return out;
}

int compare(const Wanted& wanted) {
  constexpr std::array<const char*, 4> names{"drawn", "one at a time", "staircase", "rows"};
  std::printf("%-8s %-14s %9s %9s %9s\n", "minutes", "plan", "channels", "found", "wrong");
  for (const double length : wanted.minutes) {
    for (std::size_t way = 0; way < names.size(); ++way) {
      Identified sum;
      for (const Family family : wanted.families) {
        for (int s = 0; s < wanted.seeds; ++s) {
          const std::uint64_t seed = wanted.first + static_cast<std::uint64_t>(s);
          const auto replan = [&](const Session& session, const Recipe&) {
            return course(static_cast<Way>(way), session, length * 60, hold_s, seed);
          };
          const RandomBoard board = make_board(family, seed, replan);
          const Identified one = identify(board, search(board));
          sum.channels += one.channels;
          sum.good += one.good;
          sum.wrong += one.wrong;
        }
      }
      std::printf("%-8.0f %-14s %9d %9d %9d\n", length, names[way], sum.channels, sum.good,
                  sum.wrong);
      std::fflush(stdout);
    }
  }
  return 0;
}

// What is wrong with the first session, and what the bench is known to allow.
enum class Open : std::uint8_t {
  together,  // whatever moved together on this board; nothing is known
  sets,      // the cells had one source, laid over all of them; now it may be laid over sets
  range,     // channels stayed in a part of their range; now they may go through all of it
};

// The first session, as a plan's upper half.
bench::Plan first_head(Open open, const Session& session, std::uint64_t seed) {
  bench::Plan head = head_of(session, hold_s);
  Rng rng(seed + 77);
  for (bench::PlanChannel& c : head.channels) {
    c.repeat = 2;
    if (open == Open::sets && c.name.starts_with("cell_")) c.lead = "source";
    if (open != Open::range || c.is_state()) continue;
    const double part = rng.uniform(0.1, 0.5);
    const double from = rng.uniform(0, 1 - part);
    const double low = c.low;
    c.low = low + from * (c.high - low);
    c.high = low + (from + part) * (c.high - low);
  }
  return head;
}

bench::Plan known_head(Open open, const Session& session) {
  if (open == Open::together) return {};
  bench::Plan known = head_of(session, hold_s);
  if (open == Open::range) return known;
  bench::PlanChannel series;
  for (const bench::PlanChannel& c : known.channels) {
    if (!c.name.starts_with("cell_")) continue;
    auto numbers = std::move(series.numbers);
    const int n = std::atoi(c.name.c_str() + 5);
    numbers.push_back({n, n});
    series = c;
    series.name = "cell";
    series.digits = static_cast<int>(c.name.size()) - 5;
    series.numbers = std::move(numbers);
    series.moves = bench::Moves::in_sets;
  }
  std::erase_if(known.channels, [](const auto& c) { return c.name.starts_with("cell_"); });
  known.channels.insert(known.channels.begin(), std::move(series));
  return known;
}

struct Kept {
  int claimed = 0, held = 0, wrong = 0;
};

void count_settled(const RandomBoard& after, const Correlation& answer, const std::string& name,
                   Kept& kept) {
  ++kept.claimed;
  RandomBoard one = after;  // judged alone
  std::erase_if(one.truth.channels, [&](const TrueChannel& c) { return c.name != name; });
  std::erase_if(one.channels, [&](const ChannelSeries& c) { return c.channel.name != name; });
  const Identified found = identify(one, answer);
  kept.held += found.good;
  kept.wrong += found.wrong;
  if (found.good == 0) {
    std::printf("  %s not settled%s\n", name.c_str(), what_is_said(answer, name).c_str());
  }
}

// Bits that were claimed to move, and did so in the field's own value.
void count_exercised(const RandomBoard& after, const Proposal& p, int claimed, Kept& kept) {
  kept.claimed += claimed;
  int moved = 0;
  for (const TrueChannel& channel : after.truth.channels) {
    if (channel.name != p.channel) continue;
    for (const TrueField& field : channel.fields) {
      const auto* message = find_message(after.messages, field.bus, field.id);
      if (!same_place(*message, field, p.place)) continue;
      const int lowest = p.place.span.width() - p.untested_high_bits;
      for (int bit = lowest; bit < lowest + claimed; ++bit) {
        moved += bit < field.span.width() && ((field.moved >> bit) & 1U) != 0 ? 1 : 0;
      }
      break;
    }
  }
  kept.held += moved;
  if (moved == claimed) return;
  std::printf("  %s %s, %d untested: claimed %d, moved %d\n", p.channel.c_str(),
              to_string(p.place.span).c_str(), p.untested_high_bits, claimed, moved);
}

// A session, its search, the next plan, the session by it, its search.
int next(const Wanted& wanted, Open open) {
  Kept settled, bits;
  int boards = 0, untested = 0;
  double seconds = 0;
  for (const Family family : wanted.families) {
    for (int s = 0; s < wanted.seeds; ++s) {
      const std::uint64_t seed = wanted.first + static_cast<std::uint64_t>(s);
      bench::Plan known;
      const auto first = [&](const Session& session, const Recipe&) {
        known = known_head(open, session);
        const auto drawn = bench::draw_plan(first_head(open, session, seed), seed);
        return carried_out(drawn->plan, session);
      };
      const RandomBoard before =
          open == Open::together ? make_board(family, seed) : make_board(family, seed, first);
      const Correlation found = search(before);
      const NextPlan planned = next_plan(found, before.channels, known);
      if (planned.separates.empty() && planned.exercises.empty()) continue;
      const auto drawn = bench::draw_plan(planned.plan, seed);
      std::printf("%s seed %d\n", std::string(name_of(family)).c_str(), static_cast<int>(seed));
      if (!drawn) {
        std::printf("  %s\n", drawn.error().message.c_str());
        continue;
      }
      const auto replan = [&](const Session& session, const Recipe&) {
        Plan course = carried_out(drawn->plan, session);
        seconds += course.duration_s;
        return course;
      };
      const RandomBoard after = make_board(family, seed, replan);
      const Correlation answer = search(after);
      ++boards;
      for (const std::string& name : planned.separates) {
        count_settled(after, answer, name, settled);
      }
      for (const Proposal& p : found.proposals) {
        if (p.rank != 1 || p.derived || p.inferred) continue;
        untested += p.untested_high_bits;
        const auto claim = planned.exercises.find(p.channel);
        if (claim != planned.exercises.end()) count_exercised(after, p, claim->second, bits);
      }
      std::fflush(stdout);
    }
  }
  const auto percent = [](const Kept& k) { return 100.0 * k.held / std::max(k.claimed, 1); };
  std::printf("boards %d, plans of %.0f s on average\n", boards, seconds / std::max(boards, 1));
  std::printf("ambiguous: claimed %d, settled %d (%.1f %%), wrong %d\n", settled.claimed,
              settled.held, percent(settled), settled.wrong);
  std::printf("untested bits on these boards: %d, claimed %d, exercised %d (%.1f %%)\n", untested,
              bits.claimed, bits.held, percent(bits));
  return 0;
}

// On channels that the board does not send: how often p is below 0.05.
int calibrate(const Wanted& wanted) {
  constexpr int draws = 99;
  int runs = 0, below = 0, below_half = 0;
  for (const Family family : wanted.families) {
    for (int s = 0; s < wanted.seeds; ++s) {
      const std::uint64_t seed = wanted.first + static_cast<std::uint64_t>(s);
      std::optional<bench::Drawn> drawn;
      const auto replan = [&](const Session& session, const Recipe&) {
        bench::Plan head = head_of(session, hold_s);
        for (bench::PlanChannel& c : head.channels) c.repeat = 2;
        drawn = *bench::draw_plan(head, seed);
        return carried_out(drawn->plan, session);
      };
      const RandomBoard board = make_board(family, seed, replan);
      std::vector<PlannedStretch> stretches;
      std::vector<bench::Stretch> held;
      double t = 0;
      for (std::size_t i = 0, n = 0; i < drawn->plan.steps.size(); ++i) {
        const double hold = drawn->plan.hold_of(drawn->plan.steps[i]);
        if (n < drawn->drawn.size() && drawn->drawn[n] == i) {
          const auto from = static_cast<std::int64_t>(t * 1e9);
          held.push_back({from, from + static_cast<std::int64_t>(hold * 1e9)});
          stretches.push_back({held.back().from_ns, held.back().to_ns});
          ++n;
        }
        t += hold;
      }
      const bench::Redrawn redrawn = bench::redraw(*drawn, held, seed * 1000 + 7, draws);
      const auto streams = make_streams(board.messages, survey(board.messages));
      for (std::size_t i = 0; i < board.truth.channels.size(); ++i) {
        const TrueChannel& channel = board.truth.channels[i];
        const auto levels = redrawn.levels.find(channel.name);
        if (!channel.fields.empty() || levels == redrawn.levels.end()) continue;
        const double best = best_planned_r2(streams, stretches, levels->second.front());
        const double p = chance_by_plan(streams, stretches, levels->second, best);
        ++runs;
        below += p < 0.05 ? 1 : 0;
        below_half += p < 0.5 ? 1 : 0;
      }
      std::printf("runs %d, p < 0.05 in %d (%.1f %%), p < 0.5 in %d (%.1f %%)\n", runs, below,
                  100.0 * below / std::max(runs, 1), below_half,
                  100.0 * below_half / std::max(runs, 1));
      std::fflush(stdout);
    }
  }
  return 0;
}

int usage() {
  std::fprintf(
      stderr,
      "usage: plan_bench next|next-sets|next-range|calibrate [SEEDS [FIRST_SEED [FAMILY...]]]\n"
      "       plan_bench compare [SEEDS [FIRST_SEED [MINUTES... [FAMILY...]]]]\n"
      "Example: plan_bench next 20 1 confounded\n");
  return 2;
}

int run(const std::vector<std::string>& words) {
  if (words.empty()) return usage();
  Wanted wanted;
  if (words.size() > 1) wanted.seeds = std::atoi(words[1].c_str());
  if (words.size() > 2) wanted.first = static_cast<std::uint64_t>(std::atoll(words[2].c_str()));
  std::size_t i = 3;
  if (i < words.size() && std::atof(words[i].c_str()) > 0) wanted.minutes.clear();
  for (; i < words.size() && std::atof(words[i].c_str()) > 0; ++i) {
    wanted.minutes.push_back(std::atof(words[i].c_str()));
  }
  for (; i < words.size(); ++i) {
    const auto family = family_named(words[i]);
    if (!family) return usage();
    wanted.families.push_back(*family);
  }
  if (words[0] == "compare") {
    if (wanted.families.empty()) wanted.families = undisturbed_families();
    return compare(wanted);
  }
  if (words[0] == "next") {
    if (wanted.families.empty()) wanted.families = {Family::confounded};
    return next(wanted, Open::together);
  }
  if (words[0] == "next-sets" || words[0] == "next-range") {
    if (wanted.families.empty()) wanted.families = undisturbed_families();
    return next(wanted, words[0] == "next-sets" ? Open::sets : Open::range);
  }
  if (words[0] == "calibrate") {
    if (wanted.families.empty()) wanted.families = {Family::no_signal};
    return calibrate(wanted);
  }
  return usage();
}

}  // namespace
}  // namespace foundling::recovery

int main(int argc, char** argv) { return foundling::recovery::run({argv + 1, argv + argc}); }
