#include <algorithm>
#include <cmath>
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

// Enough digits to see the interval's width.
int digits_for(const Interval& interval) {
  const double width = interval.high - interval.low;
  const double size = std::max(std::abs(interval.low), std::abs(interval.high));
  if (!(width > 0) || !(size > 0)) return 6;
  return std::clamp(static_cast<int>(std::ceil(std::log10(size / width))) + 2, 3, 10);
}

std::string interval_text(const Interval& interval) {
  const int digits = digits_for(interval);
  return figure(interval.low, digits) + " .. " + figure(interval.high, digits);
}

std::string with_unit(double value, const std::string& unit) {
  return exact_figure(value) + (unit.empty() ? "" : ' ' + unit);
}

std::string states_text(const Proposal& p) {
  std::string text;
  for (const auto& [code, word] : p.states) {
    text += (text.empty() ? "" : ", ") + std::to_string(code) + " = " + word;
  }
  return text;
}

std::string chance_text(double chance) { return chance < 1e-6 ? "< 1e-6" : figure(chance, 2); }

std::string delay_text(const Proposal& p) {
  std::string text = duration(p.delay_s);
  if (p.time_constant_s > 0) text += " + low-pass " + duration(p.time_constant_s);
  return text;
}

std::string kind_text(const Proposal& p) {
  if (p.is_float) return "float";
  return p.is_signed ? "signed" : "";
}

std::vector<std::string> cells_of(const Proposal& p, bool with_bus) {
  const bool state = !p.states.empty();
  const bool table = !p.table.empty();
  const bool line = !state && !table;
  const std::string unit = p.unit.empty() ? "" : ' ' + p.unit;
  const std::string value = state ? states_text(p) : table ? "table below" : "";
  return {p.rank > 1 ? "  or" : p.channel,
          place_text(p.place, with_bus),
          kind_text(p),
          line ? with_unit(p.scale, p.unit) : value,
          line ? interval_text(p.scale_interval) + unit : "",
          line ? with_unit(p.offset, p.unit) : "",
          line ? interval_text(p.offset_interval) + unit : "",
          delay_text(p),
          p.untested_high_bits > 0 ? std::to_string(p.untested_high_bits) : "",
          p.inferred ? "0" : std::to_string(p.levels),
          chance_text(p.chance),
          std::string(to_string(p.verdict))};
}

// "raw 812 = 25.01 °C ± 0.02", the measured points of a table, a few a line.
std::vector<std::string> table_lines(const Proposal& p) {
  constexpr std::size_t a_line = 4;
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

std::vector<std::string> remarks(const Proposal& p, bool with_bus) {
  std::vector<std::string> lines;
  if (!p.table.empty()) lines = table_lines(p);
  if (p.derived) lines.emplace_back("derived from other channels");
  if (p.inferred) lines.emplace_back("inferred from its neighbours: it was never moved by itself");
  if (!p.ambiguous_with.empty()) {
    std::string text = "cannot be told apart from";
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

// What the chance figures lean on.
std::string chance_sentence(const Correlation& correlation) {
  std::size_t by_plan = 0, others = 0;
  for (const Proposal& p : correlation.proposals) {
    if (!p.inferred) ++(p.chance_by_plan ? by_plan : others);
  }
  const char* const permuted = "from permuting what was applied, which is weaker";
  if (correlation.plan && by_plan > 0) {
    const RedrawnPlan& plan = *correlation.plan;
    return "chance: from drawing " + plan.name + " (seed " + std::to_string(plan.seed) + ") " +
           std::to_string(plan.draws) + " times anew" +
           (others > 0 ? ", of " + std::to_string(by_plan) + " signals; of the other " +
                             std::to_string(others) + ' ' + permuted
                       : "");
  }
  if (others == 0) return {};
  return std::string("chance: ") + permuted + " than drawing a plan anew (foundling bench plan)";
}

bool on_several_buses(const Correlation& correlation) {
  std::set<std::uint8_t> buses;
  for (const Proposal& p : correlation.proposals) buses.insert(p.place.bus);
  for (const Unanswered& channel : correlation.unanswered) {
    if (channel.nearest) buses.insert(channel.nearest->place.bus);
  }
  return buses.size() > 1;
}

}  // namespace

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

std::string proposals_text(const Correlation& correlation, const std::string& capture) {
  const bool with_bus = on_several_buses(correlation);
  TextTable table({{"signal"},
                   {"place"},
                   {"type"},
                   {"scale a bit", true},
                   {"95 %", true},
                   {"offset", true},
                   {"95 %", true},
                   {"delay", true},
                   {"untested bits", true},
                   {"levels", true},
                   {"chance", true},
                   {"verdict"}});
  const auto& all = correlation.proposals;
  for (std::size_t i = 0; i < all.size();) {
    const std::size_t run = inferred_run(all, i);
    if (run > 1) {
      add_run(table, std::span(all).subspan(i, run), with_bus);
    } else {
      table.add(cells_of(all[i], with_bus));
      for (std::string& line : remarks(all[i], with_bus)) table.add_line(std::move(line));
      const std::string left_out = all[i].rank == 1 ? left_out_words(correlation, all[i]) : "";
      if (!left_out.empty()) table.add_line(left_out + " (see below)");
    }
    i += run;
  }
  std::string text = correlation.proposals.empty() ? "no signal was found\n" : table.text();
  const std::string chance = chance_sentence(correlation);
  if (!chance.empty()) text += '\n' + paragraph(chance, 0);
  text += unanswered_text(correlation.unanswered, with_bus);
  text += unfit_text(correlation, readings_of(correlation, capture));
  if (!correlation.advice.empty()) text += "\nadvice for the bench:\n";
  for (const std::string& advice : correlation.advice) text += paragraph(advice, 2);
  return text;
}

}  // namespace foundling
