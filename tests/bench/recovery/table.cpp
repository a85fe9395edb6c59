#include "tests/bench/recovery/table.h"

#include <cstdio>
#include <nlohmann/json.hpp>

namespace foundling::recovery {
namespace {

constexpr double least_probability = 0.01;  // of ranks that count as flat

std::string cell(const Column& column, const Figures& f) {
  const auto value = column.value(f);
  if (!value) return "      -";
  char text[24];
  std::snprintf(text, sizeof text, "%6.1f%c", *value, column.misses_target(*value) ? '!' : ' ');
  return text;
}

std::string padded(const std::string& text, int width) {
  char out[64];
  std::snprintf(out, sizeof out, "%*s", width, text.c_str());
  return out;
}

std::string row(const std::string& name, const Figures& f, Part part) {
  char start[64];
  std::snprintf(start, sizeof start, "%-13s%4d%6d", name.c_str(), f.boards, f.channels);
  std::string line = start;
  for (const Column& column : columns(part)) line += cell(column, f);
  std::snprintf(start, sizeof start, "%8.2f", f.boards == 0 ? 0 : f.seconds / f.boards);
  return line + start + "\n";
}

Figures sum_of(const FamilyFigures& families) {
  Figures total;
  for (const auto& [name, figures] : families) total += figures;
  return total;
}

// The column's mean over all boards beside the worst family, as a line of its own: names are
// longer than columns are wide.
std::string worst_lines(const FamilyFigures& families, const Figures& total, Part part) {
  std::string text = "\nworst family   target    all  worst\n";
  for (const Column& column : columns(part)) {
    const auto worst = worst_family(column, families);
    if (!worst) continue;
    const auto& [name, figures] = families[*worst];
    const bool all_alike = column.value(figures) == column.value(total);
    char line[128];
    const std::string head = std::string(column.head[0]) + " " + column.head[1];
    std::snprintf(line, sizeof line, "%-14s%7s%s%s %s\n", head.c_str(), column.target,
                  cell(column, total).c_str(), cell(column, figures).c_str(),
                  all_alike ? "-" : name.c_str());
    text += line;
  }
  return text;
}

std::string ranks_line(const std::string& name, const char* of, const RankHistogram& ranks) {
  char part[64];
  std::snprintf(part, sizeof part, "%-14s%-7s%6d ", name.c_str(), of, ranks.total());
  std::string line = part;
  for (const int count : ranks.counts) line += padded(std::to_string(count), 5);
  if (!ranks.can_be_judged()) return line + "    too few to judge\n";
  const double p = ranks.probability();
  std::snprintf(part, sizeof part, "%8.1f %7.2g%s\n", ranks.chi_square(), p,
                p < least_probability ? " !" : "");
  return line + part;
}

using Json = nlohmann::ordered_json;

Json ranks_json(const RankHistogram& ranks) {
  return {{"counts", ranks.counts},
          {"chi_square", ranks.chi_square()},
          {"probability", ranks.probability()}};
}

}  // namespace

std::string figures_table(const FamilyFigures& families, Part part) {
  std::string text;
  for (int line = 0; line < 2; ++line) {
    text += line == 0 ? "family       brds chans " : "                       ";
    for (const Column& column : columns(part)) text += padded(column.head[line], 6) + " ";
    text += line == 0 ? "  s per\n" : "  board\n";
  }
  text += "target                 ";
  for (const Column& column : columns(part)) text += padded(column.target, 6) + " ";
  text += "\n";
  for (const auto& [name, figures] : families) text += row(name, figures, part);
  const Figures total = sum_of(families);
  if (families.size() > 1) text += row("all", total, part);
  if (part == Part::all) {
    char tail[200];
    std::snprintf(tail, sizeof tail, "derived proposals at a computed signal %d, elsewhere %d\n",
                  total.derived_hits, total.derived_misses);
    text += tail;
  }
  return families.size() > 1 ? text + worst_lines(families, total, part) : text;
}

std::string ranks_table(const FamilyFigures& families) {
  std::string text =
      "\nranks of the truth in the intervals, ten bins; flat where chance > 0.01\n"
      "family        of          n    0   .1   .2   .3   .4   .5   .6   .7   .8   .9     chi2  "
      "chance\n";
  const auto lines = [&text](const std::string& name, const Figures& f) {
    text += ranks_line(name, "scale", f.scale_ranks) + ranks_line(name, "offset", f.offset_ranks);
  };
  for (const auto& [name, figures] : families) lines(name, figures);
  if (families.size() > 1) lines("all", sum_of(families));
  return text;
}

std::string figures_json(const FamilyFigures& families, Part part) {
  Json root;
  root["format"] = "foundling-recovery";
  root["version"] = 1;
  for (const auto& [name, f] : families) {
    Json one{{"family", name}, {"boards", f.boards}, {"channels", f.channels}};
    for (const Column& column : columns(part)) {
      if (column.ratio == nullptr) continue;
      const Ratio& ratio = f.*column.ratio;
      one[column.key] = {{"good", ratio.good}, {"of", ratio.of}};
    }
    one["seconds"] = f.seconds;
    if (part == Part::all) {
      one["false_strong"] = f.false_strong;
      one["wrong_strong"] = f.wrong_strong;
      one["derived_hits"] = f.derived_hits;
      one["derived_misses"] = f.derived_misses;
      one["scale_ranks"] = ranks_json(f.scale_ranks);
      one["offset_ranks"] = ranks_json(f.offset_ranks);
    }
    root["families"].push_back(one);
  }
  return root.dump(2) + "\n";
}

}  // namespace foundling::recovery
