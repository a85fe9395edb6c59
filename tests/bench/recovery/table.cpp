#include "tests/bench/recovery/table.h"

#include <algorithm>
#include <cstdio>
#include <iterator>
#include <nlohmann/json.hpp>

namespace foundling::recovery {
namespace {

double per_hundred(int count, int of) { return of == 0 ? 0 : 100.0 * count / of; }

struct Column {
  const char* key;              // in JSON
  const char* head[2];          // in the table
  const char* target;           // as text; empty: information only
  double least, most;           // outside: marked
  const Ratio Figures::*ratio;  // null: a count a hundred channels
};

constexpr double none = 1e9;

const std::vector<Column>& every_column() {
  static const std::vector<Column> all{
      {"found", {"found", "%"}, ">=99", 99, none, &Figures::found},
      {"span", {"span", "%"}, ">=98", 98, none, &Figures::span},
      {"sign", {"sign", "%"}, ">=99", 99, none, &Figures::sign},
      {"scale_exact", {"scale", "exact%"}, ">=95", 95, none, &Figures::scale_exact},
      {"scale_near", {"scale", ".5% %"}, ">=99", 99, none, &Figures::scale_near},
      {"offset", {"offset", "1LSB%"}, ">=97", 97, none, &Figures::offset},
      {"scale_interval", {"scale", "cover%"}, "93-97", 93, 97, &Figures::scale_interval},
      {"offset_interval", {"offset", "cover%"}, "93-97", 93, 97, &Figures::offset_interval},
      {"false_strong", {"false", "/100"}, "<=0.5", -none, 0.5, nullptr},
      {"silence", {"silent", "%"}, ">=99", 99, none, &Figures::silence},
      {"confounded", {"confd", "%"}, ">=98", 98, none, &Figures::confounded},
      {"curve", {"curve", "1% %"}, ">=95", 95, none, &Figures::curve},
      {"words", {"words", "%"}, "", -none, none, &Figures::words},
      {"delay", {"delay", ".15s%"}, "", -none, none, &Figures::delay},
      {"strong", {"strong", "%"}, "", -none, none, &Figures::verdict},
      {"inferred", {"infer", "red%"}, "", -none, none, &Figures::inferred},
      {"inferred_claims", {"true", "%"}, "", -none, none, &Figures::inferred_claims},
      {"few_named", {"few", "named%"}, "", -none, none, &Figures::few_named},
      {"counters", {"countr", "%"}, ">=99", 99, none, &Figures::counters},
      {"counter_claims", {"true", "%"}, ">=99", 99, none, &Figures::counter_claims},
      {"checksums", {"check", "sum%"}, ">=98", 98, none, &Figures::checksums},
      {"checksum_claims", {"true", "%"}, ">=99", 99, none, &Figures::checksum_claims},
      {"selectors", {"select", "%"}, ">=99", 99, none, &Figures::selectors},
      {"selector_claims", {"true", "%"}, ">=99", 99, none, &Figures::selector_claims}};
  return all;
}

bool is_of_the_survey(const Column& column) {
  static constexpr const Ratio Figures::*survey[] = {
      &Figures::counters,       &Figures::checksums,       &Figures::selectors,
      &Figures::counter_claims, &Figures::checksum_claims, &Figures::selector_claims};
  return std::find(std::begin(survey), std::end(survey), column.ratio) != std::end(survey);
}

std::vector<Column> columns(Part part) {
  std::vector<Column> chosen = every_column();
  if (part == Part::survey) {
    std::erase_if(chosen, [](const Column& column) { return !is_of_the_survey(column); });
  }
  return chosen;
}

std::string cell(const Column& column, const Figures& f) {
  char text[24];
  if (column.ratio != nullptr && (f.*column.ratio).of == 0) return "      -";
  const double value = column.ratio != nullptr ? (f.*column.ratio).percent()
                                               : per_hundred(f.false_strong, f.channels);
  const bool bad = value < column.least || value > column.most;
  std::snprintf(text, sizeof text, "%6.1f%c", value, bad ? '!' : ' ');
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
  Figures total;
  for (const auto& [name, figures] : families) {
    text += row(name, figures, part);
    total += figures;
  }
  if (families.size() > 1) text += row("all", total, part);
  if (part == Part::survey) return text;
  char tail[200];
  std::snprintf(tail, sizeof tail, "derived proposals at a computed signal %d, elsewhere %d\n",
                total.derived_hits, total.derived_misses);
  return text + tail;
}

std::string figures_json(const FamilyFigures& families, Part part) {
  nlohmann::ordered_json root;
  root["format"] = "foundling-recovery";
  root["version"] = 1;
  for (const auto& [name, f] : families) {
    nlohmann::ordered_json one{{"family", name}, {"boards", f.boards}, {"channels", f.channels}};
    for (const Column& column : columns(part)) {
      if (column.ratio == nullptr) continue;
      const Ratio& ratio = f.*column.ratio;
      one[column.key] = {{"good", ratio.good}, {"of", ratio.of}};
    }
    one["seconds"] = f.seconds;
    if (part == Part::survey) {
      root["families"].push_back(one);
      continue;
    }
    one["false_strong"] = f.false_strong;
    one["derived_hits"] = f.derived_hits;
    one["derived_misses"] = f.derived_misses;
    root["families"].push_back(one);
  }
  return root.dump(2) + "\n";
}

}  // namespace foundling::recovery
