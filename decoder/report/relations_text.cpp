#include "decoder/report/figures.h"
#include "decoder/report/relations_report.h"
#include "decoder/report/text_table.h"

namespace foundling {
namespace {

using relate::Relations;
using relate::SumRelation;

std::string place_of(const Relations& found, std::size_t field) {
  return place_text(found.fields[field].place, false);
}

std::string counted(std::size_t n, const std::string& one) {
  return std::to_string(n) + ' ' + one + (n == 1 ? "" : "s");
}

// Members in runs of one message and page, so that a hundred cells take a few lines.
std::string members_text(const Relations& found, const std::vector<std::size_t>& members) {
  std::string text;
  const FieldPlace* last = nullptr;
  for (const std::size_t f : members) {
    const FieldPlace& place = found.fields[f].place;
    const bool same = last != nullptr && last->id == place.id && last->bus == place.bus &&
                      last->page == place.page;
    text +=
        same ? " " + to_string(place.span) : (text.empty() ? "" : ", ") + place_text(place, false);
    last = &place;
  }
  return text;
}

std::string equation(const SumRelation& sum) {
  return figure(sum.factor, 5) + " * sum " + (sum.constant < 0 ? "- " : "+ ") +
         figure(std::abs(sum.constant), 3);
}

void add_sum(TextTable& table, const Relations& found, const SumRelation& sum) {
  table.add({"sum or mean of " + std::to_string(sum.members.size()), sum.strong ? "strong" : "weak",
             place_of(found, sum.total), equation(sum), figure(sum.chance, 2)});
  const std::size_t like = sum.members.size() - sum.shown.size();
  table.add_line("factor ± " + percent(sum.factor_deviation / std::abs(sum.factor), 2) +
                 " (one "
                 "standard deviation), over " +
                 counted(sum.steps, "step") + "; " + percent(1 - sum.r2, 2) +
                 " of its motion unexplained");
  table.add_line(std::to_string(sum.shown.size()) + " members by their own motion" +
                 (like == 0 ? "" : ", " + std::to_string(like) + " by likeness"));
}

std::string with_constant(const std::string& what, double constant) {
  return what + (constant < 0 ? " - " : " + ") + figure(std::abs(constant), 3);
}

std::string words_of(relate::ExtremeKind kind) {
  switch (kind) {
    case relate::ExtremeKind::lowest:
      return "lowest member";
    case relate::ExtremeKind::highest:
      return "highest member";
    case relate::ExtremeKind::spread:
      return "highest less lowest";
    case relate::ExtremeKind::number_of_lowest:
      return "number of lowest";
    case relate::ExtremeKind::number_of_highest:
      break;
  }
  return "number of highest";
}

void add_extreme(TextTable& table, const Relations& found, const relate::ExtremeRelation& one) {
  const bool number = one.kind == relate::ExtremeKind::number_of_lowest ||
                      one.kind == relate::ExtremeKind::number_of_highest;
  const std::string is = number ? "counts from " + figure(one.constant, 6)
                                : with_constant(figure(one.factor, 5) + " * it", one.constant);
  table.add({words_of(one.kind), one.strong ? "strong" : "weak", place_of(found, one.field), is,
             figure(one.chance, 2)});
}

void add_pair(TextTable& table, const Relations& found, const relate::PairRelation& one) {
  const std::string of = place_of(found, one.of);
  std::string what;
  std::string is = figure(one.factor, 4) + " * " + of;
  switch (one.kind) {
    case relate::PairKind::copy:
      what = "copy";
      break;
    case relate::PairKind::alike:
      what = "moves alike";
      break;
    case relate::PairKind::product:
      what = "product";
      is += " * " + place_of(found, one.other) + " + ...";
      break;
    case relate::PairKind::integral:
      what = "added up";
      is = figure(one.factor, 4) + " a second * " + of + " + ...";
      break;
  }
  table.add({what, one.strong ? "strong" : "weak", place_of(found, one.field), is,
             figure(one.chance, 2)});
  if (std::abs(one.delay_s) >= found.window_s / 2) {
    table.add_line("comes " + duration(std::abs(one.delay_s)) +
                   (one.delay_s > 0 ? " after it" : " before it"));
  }
}

std::string bit_of(const Relations& found, std::size_t bit) {
  return place_text(found.bits[bit].place, false);
}

void add_gated(TextTable& table, const Relations& found, const relate::GatedRelation& one) {
  table.add({"equal at times", one.strong ? "strong" : "weak", place_of(found, one.field),
             with_constant(figure(one.factor, 4) + " * " + place_of(found, one.of), one.constant),
             figure(one.chance, 2)});
  std::string line = std::string("while bit ") + bit_of(found, one.bit) +
                     (one.while_set ? " is set" : " is clear") + ", elsewhere while it is not; " +
                     counted(one.turns, "turn") + ", " + counted(one.steps, "step");
  for (const std::size_t bit : one.same_bits) line += "; so does bit " + bit_of(found, bit);
  table.add_line(line);
}

void add_threshold(TextTable& table, const Relations& found, const relate::ThresholdRelation& one) {
  table.add({"threshold", one.strong ? "strong" : "weak", bit_of(found, one.bit),
             "set while " + place_of(found, one.field) + (one.above ? " > " : " < ") +
                 figure(one.sets_at, 5),
             figure(one.chance, 2)});
  std::string line =
      "clears at " + figure(one.clears_at, 5) + "; " + counted(one.crossings, "crossing");
  if (one.delay_s > 0) line += ", " + duration(one.delay_s) + " after the field";
  if (one.others > 0) {
    line += "; " + counted(one.others, "other field") + (one.others == 1 ? " does" : " do") +
            " nearly as well";
  }
  table.add_line(line);
}

// Weak pairs are many where much moves together; the first say enough.
constexpr std::size_t most_weak = 8;

void add_pairs(TextTable& table, const Relations& found) {
  std::size_t weak = 0;
  for (const relate::PairRelation& one : found.pairs) {
    if (one.strong || ++weak <= most_weak) add_pair(table, found, one);
  }
  if (weak > most_weak) {
    table.add_line("and " + counted(weak - most_weak, "weak pair") + " more, in --json");
  }
}

std::string scale_text(const relate::SumScale& scale) {
  std::string text = "Scale from " + counted(scale.readings, "reading") + " of " + scale.channel;
  if (scale.left_out > 0) text += " (" + std::to_string(scale.left_out) + " too far off, left out)";
  text += ": one step of each member is " + figure(scale.scale, 6) + ' ' + scale.unit +
          ", fitted " + figure(scale.scale_fitted, 6) + " in " +
          figure(scale.member_interval.low, 6) + ".." + figure(scale.member_interval.high, 6) +
          "; offset " + figure(scale.offset, 6) + ' ' + scale.unit + ", fitted " +
          figure(scale.offset_fitted, 3) + " in " + figure(scale.offset_interval.low, 3) + ".." +
          figure(scale.offset_interval.high, 3) +
          ", if all have the same (95 % intervals; a member's own gain may differ by "
          "0.5 %).";
  return text;
}

std::string doubts_text(const RelationsSource& source, std::size_t width) {
  const RelationDoubts& doubts = source.doubts;
  if (!doubts.has_sum) {
    return paragraph(source.map + ": not checked, for no strong sum was found to check it by", 0,
                     width);
  }
  if (doubts.compared == 0) {
    return paragraph(source.map + ": not checked, for it has none of the sum's members", 0, width);
  }
  std::string head = source.map + " against the sum: " + counted(doubts.compared, "member") +
                     " in the map, " + std::to_string(doubts.missing) + " not; ";
  head += doubts.doubts.empty() ? "nothing contradicts it"
                                : counted(doubts.doubts.size(), "contradiction") + ":";
  std::string text = paragraph(head, 0, width);
  for (const std::string& doubt : doubts.doubts) text += paragraph(doubt, 2, width);
  return text;
}

}  // namespace

std::string relations_text(const Relations& found, const RelationsSource& source,
                           std::size_t width) {
  std::string text = source.capture + " session " + std::to_string(source.session) + ": " +
                     counted(found.moved(), "field") + " that moved, in " +
                     figure(found.seconds, 4) + " s\n\n";
  if (!found.sums.empty() || !found.extremes.empty() || !found.pairs.empty() ||
      !found.gated.empty() || !found.thresholds.empty()) {
    TextTable table({{"relation"}, {"verdict"}, {"field"}, {"is"}, {"chance"}}, width);
    for (const SumRelation& sum : found.sums) add_sum(table, found, sum);
    for (const relate::ExtremeRelation& one : found.extremes) add_extreme(table, found, one);
    add_pairs(table, found);
    for (const relate::GatedRelation& one : found.gated) add_gated(table, found, one);
    for (const relate::ThresholdRelation& one : found.thresholds) add_threshold(table, found, one);
    text += table.text();
    const auto& members = found.sums.empty() || !found.sums.front().strong
                              ? found.extremes_of
                              : found.sums.front().members;
    if (!found.sums.empty() || !found.extremes.empty()) {
      text += "\n" + paragraph("members: " + members_text(found, members), 0, width);
    }
  } else {
    text += "no relation found\n";
  }
  if (found.scale) text += "\n" + paragraph(scale_text(*found.scale), 0, width);
  if (!source.map.empty()) text += "\n" + doubts_text(source, width);
  for (const std::string& advice : relations_advice(found, source)) {
    text += "\n" + paragraph(advice, 0, width);
  }
  return text;
}

}  // namespace foundling
