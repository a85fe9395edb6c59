#include <algorithm>
#include <vector>

#include "decoder/report/against_report.h"
#include "decoder/report/figures.h"
#include "decoder/report/paragraph.h"

namespace foundling {
namespace {

constexpr std::size_t most_places = 3;  // of one kind in one message, written out
constexpr std::size_t most_named = 8;   // of messages in one recording alone

std::string count_of(std::size_t n, const std::string& one) {
  return std::to_string(n) + ' ' + one + (n == 1 ? "" : "s");
}

std::string head(const std::string& name, const SurveySource& source) {
  return name + "  " + source.capture + " session " + std::to_string(source.session) + ", " +
         duration(source.duration_s) + '\n';
}

std::string who(const Difference& d, bool with_bus) {
  if (!d.id) return "bus " + std::to_string(d.bus);
  return (with_bus ? "bus " + std::to_string(d.bus) + ' ' : "") + identifier_text(*d.id);
}

bool one_line(const Difference& x, const Difference& y) {
  return x.bus == y.bus && x.id == y.id && x.kind == y.kind;
}

std::string only_line(const Against& against, Side side, bool with_bus, std::size_t width) {
  std::vector<std::string> names;
  for (const Difference& d : against.differences) {
    if (d.kind == DifferenceKind::only_in_one && d.side == side) names.push_back(who(d, with_bus));
  }
  if (names.empty()) return "";
  std::string text = std::string("only in ") + (side == Side::a ? "A: " : "B: ");
  for (std::size_t i = 0; i < std::min(names.size(), most_named); ++i) {
    text += (i > 0 ? ", " : "") + names[i];
  }
  if (names.size() > most_named) {
    text += " and " + std::to_string(names.size() - most_named) + " more";
  }
  return paragraph(text, 0, width);
}

std::string lines(const Against& against, bool with_bus, std::size_t width) {
  std::string text =
      only_line(against, Side::a, with_bus, width) + only_line(against, Side::b, with_bus, width);
  const auto& all = against.differences;
  for (std::size_t first = 0; first < all.size();) {
    std::size_t end = first + 1;
    while (end < all.size() && one_line(all[first], all[end])) ++end;
    if (all[first].kind != DifferenceKind::only_in_one) {
      std::string line = who(all[first], with_bus) + ' ';
      for (std::size_t i = first; i < std::min(end, first + most_places); ++i) {
        line += (i > first ? "; " : "") + difference_words(all[i]);
      }
      if (end - first > most_places) {
        line += "; and " + std::to_string(end - first - most_places) + " more of the kind";
      }
      text += paragraph(line, 0, width);
    }
    first = end;
  }
  return text;
}

std::string answer(const Against& against, std::size_t width) {
  if (against.differences.empty()) {
    return paragraph(
        "No difference: what came in one came in the other as well, and alike but for noise.", 0,
        width);
  }
  const std::size_t differ = against.messages - against.alike - against.too_few;
  return count_of(against.differences.size(), "difference") + ", in " + std::to_string(differ) +
         " of " + count_of(against.messages, "message") + ":\n\n";
}

}  // namespace

std::string against_text(const Against& against, const AgainstSource& source, std::size_t width) {
  const auto& all = against.differences;
  const bool with_bus =
      std::any_of(all.begin(), all.end(), [](const Difference& d) { return d.bus != 0; });
  std::string text = head("A", source.a) + head("B", source.b) + '\n' + answer(against, width);
  text += lines(against, with_bus, width) + '\n';
  text += count_of(against.alike, "message") + (against.alike == 1 ? " is" : " are") + " alike";
  if (against.too_few > 0) {
    text += "; " + std::to_string(against.too_few) + " came too rarely to be compared";
  }
  text += ".\n";
  if (all.empty()) return text;
  const auto least_sure = std::max_element(
      all.begin(), all.end(),
      [](const Difference& x, const Difference& y) { return x.chance < y.chance; });
  return text + paragraph("Noise and drift would show the least sure of these in at most " +
                              figure(std::max(least_sure->chance, 1e-6) * 1e6, 1) +
                              " of a million pairs of recordings of one steady board.",
                          0, width);
}

}  // namespace foundling
