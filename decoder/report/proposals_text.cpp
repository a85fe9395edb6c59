#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <set>
#include <span>

#include "decoder/report/figures.h"
#include "decoder/report/open_text.h"
#include "decoder/report/paragraph.h"
#include "decoder/report/proposals_report.h"
#include "decoder/report/text_table.h"
#include "decoder/report/unfit_reading.h"

namespace foundling {
namespace {

constexpr int fewest_digits = 3;
constexpr int most_digits = 9;

// How far the 95 % interval reaches from the value that is shown: it need not lie in its middle.
double reach(const Interval& interval, double shown) {
  return std::max(std::abs(interval.low - shown), std::abs(interval.high - shown));
}

// Enough digits to see the uncertainty, and more where the value would be rounded by a part of it.
int digits_for(double value, double uncertainty) {
  const double size = std::abs(value);
  if (!(uncertainty > 0) || !(size > 0)) return fewest_digits;
  int digits = static_cast<int>(std::ceil(std::log10(size / uncertainty)));
  digits = std::clamp(digits, fewest_digits, most_digits);
  constexpr double of_the_uncertainty = 0.05;
  while (digits < most_digits && std::abs(std::strtod(figure(value, digits).c_str(), nullptr) -
                                          value) > of_the_uncertainty * uncertainty) {
    ++digits;
  }
  return digits;
}

// "1.000 mV ± 0.08 %"
std::string scale_text(const Proposal& p) {
  const double around = reach(p.scale_interval, p.scale);
  std::string text = engineering(p.scale, p.unit, digits_for(p.scale, around));
  if (around > 0 && p.scale != 0) text += " ± " + percent(around / std::abs(p.scale), 2);
  return text;
}

std::string states_text(const Proposal& p) {
  std::string text;
  for (const auto& [code, word] : p.states) {
    text += (text.empty() ? "" : ", ") + std::to_string(code) + " = " + word;
  }
  return text;
}

std::string chance_text(double chance) {
  return chance < 1e-6 ? "below 0.0001 %" : percent(chance, 2);
}

// "1B0 2.7..1.0 page 3"; the selector's own bits stand in the survey.
std::string short_place(const FieldPlace& place, bool with_bus) {
  FieldPlace whole = place;
  whole.page.reset();
  std::string text = place_text(whole, with_bus);
  if (place.page) text += " page " + std::to_string(place.page->value);
  return text;
}

std::string delay_text(const Proposal& p) {
  std::string text = duration(p.delay_s);
  if (p.time_constant_s > 0) text += " + low-pass " + duration(p.time_constant_s);
  return text;
}

std::string kind_text(const Proposal& p) {
  if (p.other_coding != Coding::natural) return std::string(to_string(p.other_coding));
  if (p.is_float) return "float";
  return p.is_signed ? "signed" : "";
}

std::string worth_text(const Proposal& p) {
  if (!p.table.empty()) return "table below";
  if (!p.states.empty()) return std::to_string(p.states.size()) + " states";
  return scale_text(p);
}

std::vector<std::string> cells_of(const Proposal& p, bool with_bus) {
  const bool line = p.states.empty() && p.table.empty();
  return {p.rank > 1 ? "  or" : p.channel,
          std::string(to_string(p.verdict)),
          short_place(p.place, with_bus),
          worth_text(p),
          p.inferred ? "0" : std::to_string(p.levels),
          line ? plus_minus(p.offset, reach(p.offset_interval, p.offset), p.unit) : "",
          delay_text(p),
          p.untested_high_bits > 0 ? std::to_string(p.untested_high_bits) : "",
          kind_text(p)};
}

// "raw 812 = 25.01 °C ± 0.02", the measured points of a table, a few a line.
std::vector<std::string> table_lines(const Proposal& p) {
  constexpr std::size_t a_line = 3;
  const std::string unit = p.unit.empty() ? "value" : p.unit;
  std::vector<std::string> lines{
      "no straight line; its table was measured at these points (raw = " + unit +
      "), and nothing is known beyond its ends:"};
  std::size_t on_line = a_line;
  for (const CurvePoint& point : p.table) {
    if (std::isnan(point.uncertainty)) continue;
    if (on_line == a_line) {
      lines.emplace_back("  ");
      on_line = 0;
    }
    lines.back() += (on_line == 0 ? "" : "   ") + figure(point.raw, 7) + " = " +
                    figure(point.value, 6) + " ± " + figure(point.uncertainty, 2);
    ++on_line;
  }
  return lines;
}

std::vector<std::string> remarks(const Proposal& p, bool with_bus, double best_chance) {
  std::vector<std::string> lines;
  if (!p.table.empty()) lines = table_lines(p);
  if (!p.states.empty()) lines.push_back(states_text(p));
  if (p.derived) lines.emplace_back("derived from other channels");
  if (p.inferred) lines.emplace_back("inferred from its neighbours: it was never moved by itself");
  if (!p.ambiguous_with.empty()) {
    std::string text = "cannot be distinguished from";
    for (const std::string& other : p.ambiguous_with) text += ' ' + other;
    lines.push_back(text);
  }
  if (!p.same_as.empty()) {
    std::string text = "also in";
    for (std::size_t i = 0; i < p.same_as.size(); ++i) {
      text += (i == 0 ? " " : ", ") + place_text(p.same_as[i], with_bus);
    }
    lines.push_back(text);
  }
  if (!p.inferred && p.chance > best_chance) lines.push_back("chance " + chance_text(p.chance));
  if (!p.note.empty()) lines.push_back(p.note);
  return lines;
}

// How many proposals from `i` on are inferred members of one series; 1 if there is none.
std::size_t inferred_run(const std::vector<Proposal>& all, std::size_t i) {
  std::size_t end = i + 1;
  while (all[i].inferred && end < all.size() && all[end].inferred && all[end].unit == all[i].unit &&
         all[end].note == all[i].note) {
    ++end;
  }
  return end - i;
}

// One row for all of them: a hundred cells that nobody moved say the same a hundred times.
void add_run(TextTable& table, std::span<const Proposal> run, bool with_bus) {
  std::vector<std::string> cells = cells_of(run.front(), with_bus);
  cells.front() += " .. " + run.back().channel;
  table.add(std::move(cells));
  table.add_line(std::to_string(run.size()) + " members inferred, up to " +
                 place_text(run.back().place, with_bus) + ": none of them was moved by itself");
  if (!run.front().note.empty()) table.add_line(run.front().note);
}

// The least of all signals; most have it, for no test of so many draws shows less.
double best_chance(const Correlation& correlation) {
  double best = 1;
  for (const Proposal& p : correlation.proposals) {
    if (!p.inferred) best = std::min(best, p.chance);
  }
  return best;
}

// What the chance figures lean on.
std::string chance_basis(const Correlation& correlation, std::size_t by_plan, std::size_t others) {
  const char* const permuted = "from permuting what was applied, which is weaker";
  if (correlation.plan && by_plan > 0) {
    const RedrawnPlan& plan = *correlation.plan;
    return "from drawing " + plan.name + " (seed " + std::to_string(plan.seed) + ") " +
           std::to_string(plan.draws) + " times again" +
           (others > 0 ? ", of " + std::to_string(by_plan) + " signals; of the other " +
                             std::to_string(others) + ' ' + permuted
                       : "");
  }
  return std::string(permuted) + " than drawing a plan again (foundling bench plan)";
}

std::string chance_sentence(const Correlation& correlation) {
  std::size_t by_plan = 0, others = 0, worse = 0;
  const double best = best_chance(correlation);
  for (const Proposal& p : correlation.proposals) {
    if (p.inferred) continue;
    ++(p.chance_by_plan ? by_plan : others);
    if (p.chance > best) ++worse;
  }
  if (by_plan + others == 0) return {};
  return "chance of being luck: at most " + chance_text(best) +
         (worse > 0 ? " except where a signal's own is given" : "") +
         ", the best that this test can show; " + chance_basis(correlation, by_plan, others);
}

bool on_several_buses(const Correlation& correlation) {
  std::set<std::uint8_t> buses;
  for (const Proposal& p : correlation.proposals) buses.insert(p.place.bus);
  for (const Unanswered& channel : correlation.unanswered) {
    if (channel.nearest) buses.insert(channel.nearest->place.bus);
  }
  return buses.size() > 1;
}

std::string table_text(const Correlation& correlation, bool with_bus, std::size_t width) {
  TextTable table({{"signal"},
                   {"verdict"},
                   {"place"},
                   {"one step", true},
                   {"levels", true},
                   {"offset", true},
                   {"delay", true},
                   {"untested bits", true},
                   {"type"}},
                  width);
  const double best = best_chance(correlation);
  const auto& all = correlation.proposals;
  for (std::size_t i = 0; i < all.size();) {
    const std::size_t run = inferred_run(all, i);
    if (run > 1) {
      add_run(table, std::span(all).subspan(i, run), with_bus);
    } else {
      table.add(cells_of(all[i], with_bus));
      for (std::string& line : remarks(all[i], with_bus, best)) table.add_line(std::move(line));
      const std::string left_out = all[i].rank == 1 ? left_out_words(correlation, all[i]) : "";
      if (!left_out.empty()) table.add_line(left_out + " (see below)");
    }
    i += run;
  }
  return table.text() + "(± covers the 95 % interval)\n";
}

}  // namespace

std::string_view to_string(Coding coding) {
  switch (coding) {
    case Coding::sign_magnitude:
      return "sign-magnitude";
    case Coding::ones_complement:
      return "ones-complement";
    case Coding::decimal:
      return "bcd";
    case Coding::natural:
    case Coding::twos_complement:
    case Coding::ieee754:
      break;
  }
  return "plain";
}

std::string_view to_string(Verdict verdict) {
  switch (verdict) {
    case Verdict::strong:
      return "strong";
    case Verdict::weak:
      return "weak";
    case Verdict::ambiguous:
      break;
  }
  return "ambiguous";
}

std::string proposals_text(const Correlation& correlation, const std::string& capture,
                           std::size_t width) {
  const bool with_bus = on_several_buses(correlation);
  std::string text = correlation.proposals.empty() ? "no signal was found\n"
                                                   : table_text(correlation, with_bus, width);
  const std::string chance = chance_sentence(correlation);
  if (!chance.empty()) text += '\n' + paragraph(chance, 0, width);
  text += unanswered_text(correlation.unanswered, with_bus, width);
  text += unfit_text(correlation, readings_of(correlation, capture), width);
  if (!correlation.advice.empty()) text += "\nadvice for the bench:\n";
  for (const std::string& advice : correlation.advice) text += paragraph(advice, 2, width);
  return text;
}

}  // namespace foundling
