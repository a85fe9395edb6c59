#include "decoder/report/touch_text.h"

#include <cmath>

#include "decoder/report/figures.h"
#include "decoder/report/paragraph.h"

namespace foundling {
namespace {

using touch::Answer;
using touch::Candidate;
using touch::Shape;

constexpr std::size_t columns = 60;

std::string place_words(const Candidate& candidate, bool with_bus) {
  std::string text = with_bus ? "bus " + std::to_string(candidate.message.bus) + ' ' : "";
  text += identifier_text(candidate.message.id);
  if (!candidate.span) return "message " + text;
  text += (candidate.is_bit() ? " bit " : " field ") + to_string(*candidate.span);
  if (candidate.page) text += " on page " + std::to_string(*candidate.page);
  return text;
}

std::string rate_words(double a_second) {
  return a_second < 0.05 ? "not sent" : figure(a_second, 2) + " a second";
}

std::string value_words(const Answer& answer, std::size_t state) {
  const double value = answer.value[state];
  if (!answer.candidate.span) return rate_words(value);
  // A mean over some tenths of a second, of which the hand may have had one or two.
  if (answer.candidate.is_bit()) return value > 0.5 ? "1" : "0";
  return figure(value, 3);
}

std::string what_words(const Answer& answer, const std::array<std::string, 2>& states) {
  if (answer.candidate.shape == Shape::bend) {
    const std::size_t up = answer.rises ? 1 : 0;
    return "rises after " + states[up] + ", falls after " + states[1 - up];
  }
  if (answer.candidate.shape == Shape::pulse) return "one is sent when it is touched";
  return value_words(answer, 0) + " while " + states[0] + ", " + value_words(answer, 1) +
         " while " + states[1];
}

}  // namespace

std::string touch_text(const std::vector<Answer>& answers, const std::array<std::string, 2>& states,
                       int turns, bool with_bus) {
  if (answers.empty()) return paragraph("Nothing stands out so far.", 2, columns);
  std::string text;
  int rank = 0;
  for (const Answer& answer : answers) {
    std::string line = std::to_string(++rank) + ". " + place_words(answer.candidate, with_bus) +
                       ": " + what_words(answer, states) + "; " + figure(answer.delay_s, 2) +
                       " s after the word, in " + std::to_string(answer.answered) + " of " +
                       std::to_string(turns) + (turns == 1 ? " turn" : " turns");
    line += answer.chance > 0.5 ? "; may well be luck"
                                : "; chance " + figure(std::max(answer.chance, 1e-5), 1) +
                                      (answer.chance < 1e-5 ? " or less" : "");
    text += paragraph(line, 2, columns);
  }
  return text;
}

}  // namespace foundling
