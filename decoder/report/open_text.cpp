#include "decoder/report/open_text.h"

#include <cctype>

#include "decoder/report/figures.h"
#include "decoder/report/paragraph.h"

namespace foundling {
namespace {

// With a capital where it follows another, and a full stop.
std::string sentence(std::string text, bool capital) {
  if (text.empty()) return text;
  if (capital) text.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(text[0])));
  if (std::string_view(".!?").find(text.back()) == std::string_view::npos) text += '.';
  return text;
}

// Channels one after another of which the same is to be said, in one sentence.
bool says_the_same(const Unanswered& a, const Unanswered& b) {
  return !a.nearest && !b.nearest && a.reason == b.reason && a.advice == b.advice;
}

}  // namespace

std::string nearest_words(const Unanswered::Nearest& nearest, bool with_bus) {
  return place_text(nearest.place, with_bus) + ", " + std::to_string(nearest.agree) + " of " +
         std::to_string(nearest.levels) + (nearest.levels == 1 ? " level" : " levels") +
         (nearest.agree == 1 ? " agrees" : " agree");
}

std::string unanswered_text(const std::vector<Unanswered>& channels, bool with_bus,
                            std::size_t width) {
  if (channels.empty()) return {};
  std::string text = "\nchannels without a strong answer:\n";
  for (std::size_t i = 0; i < channels.size();) {
    const Unanswered& first = channels[i];
    std::string words = first.channel;
    for (++i; i < channels.size() && says_the_same(first, channels[i]); ++i) {
      words += ", " + channels[i].channel;
    }
    words += ": " + sentence(first.reason, false);
    if (first.nearest) words += " Nearest: " + nearest_words(*first.nearest, with_bus) + '.';
    if (!first.advice.empty()) words += ' ' + sentence(first.advice, true);
    text += paragraph(words, 2, width);
  }
  return text;
}

std::string unfit_text(const Correlation& correlation, const ReadingsOf& readings,
                       std::size_t width) {
  if (correlation.unfit_readings.empty()) return {};
  std::string text = "\nreadings that do not fit, each with the line that would correct it:\n";
  for (const UnfitReading& reading : correlation.unfit_readings) {
    text += paragraph(unfit_words(reading), 2, width);
    text += "      " + correction_line(reading, readings) + '\n';
  }
  return text + paragraph(
                    "Nothing was corrected. Look at your notes and at the meter first: a reading "
                    "that is made to agree with the board proves nothing any more.",
                    2, width);
}

}  // namespace foundling
