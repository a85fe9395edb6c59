#include "tests/bench/recovery/columns.h"

#include <algorithm>
#include <cmath>
#include <iterator>

namespace foundling::recovery {
namespace {

constexpr double none = Column::none;

const std::vector<Column>& every_column() {
  static const std::vector<Column> all{
      {"found", {"found", "%"}, ">=99", 99, none, &Figures::found},
      {"span", {"span", "%"}, ">=98", 98, none, &Figures::span},
      {"sign", {"sign", "%"}, ">=99", 99, none, &Figures::sign},
      {"scale_exact", {"scale", "exact%"}, ">=95", 95, none, &Figures::scale_exact},
      {"scale_near", {"scale", ".5% %"}, ">=99", 99, none, &Figures::scale_near},
      {"offset", {"offset", "1LSB%"}, ">=97", 97, none, &Figures::offset},
      {"right", {"all", "right%"}, ">=98", 98, none, &Figures::right},
      {"scale_interval", {"scale", "cover%"}, "93-97", 93, 97, &Figures::scale_interval},
      {"offset_interval", {"offset", "cover%"}, "93-97", 93, 97, &Figures::offset_interval},
      {"false_strong", {"false", "/100"}, "<=0.5", -none, 0.5, nullptr, &Figures::false_strong},
      {"wrong_strong", {"wrong", "/100"}, "<=0.5", -none, 0.5, nullptr, &Figures::wrong_strong},
      {"silence", {"silent", "%"}, ">=99", 99, none, &Figures::silence},
      {"chance_05", {"absent", "p<.05%"}, "<=6", -none, 6, &Figures::chance_05},
      {"chance_01", {"absent", "p<.01%"}, "<=1.2", -none, 1.2, &Figures::chance_01},
      {"absent_strong", {"absent", "strng%"}, "<=0.5", -none, 0.5, &Figures::absent_strong},
      {"slips_named", {"slips", "named%"}, ">=95", 95, none, &Figures::slips_named},
      {"slip_kinds", {"kind", "right%"}, "", -none, none, &Figures::slip_kinds},
      {"accused", {"good", "accus%"}, "<=0.5", -none, 0.5, &Figures::accused},
      {"unanswered", {"word", "said%"}, ">=99", 99, none, &Figures::unanswered},
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

}  // namespace

std::optional<double> Column::value(const Figures& figures) const {
  if (ratio != nullptr) {
    if ((figures.*ratio).of == 0) return {};
    return (figures.*ratio).percent();
  }
  if (figures.channels == 0) return {};
  return 100.0 * (figures.*count) / figures.channels;
}

double Column::badness(double value) const {
  if (least > -none && most < none) return std::abs(value - (least + most) / 2);
  return most < none ? value : -value;
}

std::vector<Column> columns(Part part) {
  std::vector<Column> chosen = every_column();
  if (part == Part::survey) {
    std::erase_if(chosen, [](const Column& column) { return !is_of_the_survey(column); });
  }
  return chosen;
}

std::optional<std::size_t> worst_family(const Column& column, const FamilyFigures& families) {
  std::optional<std::size_t> worst;
  double most = 0;
  for (std::size_t i = 0; i < families.size(); ++i) {
    const auto value = column.value(families[i].second);
    if (!value || (worst && column.badness(*value) <= most)) continue;
    worst = i;
    most = column.badness(*value);
  }
  return worst;
}

}  // namespace foundling::recovery
