#include "decoder/draft/draft_signal.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <set>

#include "schemas/signals/evidence_words.h"

namespace foundling {
namespace {

std::string_view verdict_word(Verdict verdict) {
  switch (verdict) {
    case Verdict::strong:
      return "strong";
    case Verdict::ambiguous:
      return "ambiguous";
    case Verdict::weak:
      break;
  }
  return "weak";
}

// "0.10002 in 0.09996..0.10008": the fitted figure and its 95 % interval.
std::string fitted(double value, const Interval& interval) {
  return rounded(value, 6) + " in " + rounded(interval.low, 6) + ".." + rounded(interval.high, 6);
}

std::string evidence_text(const Proposal& proposal, const DraftSource& source) {
  if (proposal.inferred) return "inferred, never moved: scale and offset are those of its like";
  std::string text(source.by_relation ? by_relation_word : verdict_word(proposal.verdict));
  if (!proposal.table.empty()) {
    text += ", a table, residual " + rounded(proposal.residual_rms, 3) + ' ' + proposal.unit;
  } else if (proposal.states.empty()) {
    text += ", scale " + fitted(proposal.scale_fitted, proposal.scale_interval);
    text += ", offset " + fitted(proposal.offset_fitted, proposal.offset_interval);
    text += ' ' + proposal.unit + ", residual " + rounded(proposal.residual_rms, 3);
    text += ' ' + proposal.unit;
  }
  const char* counted = !source.by_relation       ? " levels"
                        : proposal.states.empty() ? " readings of the whole"
                                                  : " crossings";
  text += ", " + std::to_string(proposal.levels) + counted;
  if (proposal.chance < 1) text += ", chance " + rounded(proposal.chance, 2);
  return text;
}

// Three digits beyond what a point is known to. One that was not measured is as good as its
// neighbours, so it gets six.
double tidy(double value, double uncertainty) {
  if (!(uncertainty > 0)) return std::stod(rounded(value, 6));
  const double step = std::pow(10.0, std::floor(std::log10(uncertainty)) - 2);
  return std::stod(rounded(std::round(value / step) * step, 12));
}

void add_table(SignalEntry& entry, const Proposal& proposal) {
  for (const CurvePoint& point : proposal.table) {
    entry.table.push_back({std::stod(rounded(point.raw, 6)), tidy(point.value, point.uncertainty)});
  }
  const auto measured =
      std::count_if(proposal.table.begin(), proposal.table.end(),
                    [](const CurvePoint& point) { return !std::isnan(point.uncertainty); });
  entry.notes.push_back(std::to_string(measured) +
                        " points were measured; those between follow a smooth curve");
}

// Codes that are no values: those of a start-up by their own word.
void add_reserved(SignalEntry& entry, const Proposal& proposal) {
  std::set<std::uint64_t> codes(proposal.reserved.begin(), proposal.reserved.end());
  const std::set<std::uint64_t> startup(proposal.startup_codes.begin(),
                                        proposal.startup_codes.end());
  codes.insert(startup.begin(), startup.end());
  for (const std::uint64_t code : codes) {
    entry.reserved.push_back({{code, code}, startup.contains(code) ? startup_word : no_value_word});
  }
}

// Delays are known to a few milliseconds at best; more digits would only make line diffs noisy.
double to_milliseconds(double seconds) { return std::round(seconds * 1000) / 1000; }

void add_notes(SignalEntry& entry, const Proposal& proposal) {
  if (proposal.derived)
    entry.notes.emplace_back("derived: computed from other channels of the bench");
  if (proposal.untested_high_bits > 0) {
    entry.notes.push_back("untested: the top " + std::to_string(proposal.untested_high_bits) +
                          " bits never changed");
  }
  if (!proposal.ambiguous_with.empty()) {
    std::string text = "cannot be distinguished from";
    for (const std::string& other : proposal.ambiguous_with) text += ' ' + other;
    entry.notes.push_back(std::move(text));
  }
  if (!proposal.note.empty()) entry.notes.push_back(proposal.note);
  for (const FieldPlace& place : proposal.same_as) {
    std::array<char, 16> id{};
    const int length = std::snprintf(id.data(), id.size(), place.id.is_extended() ? "%08X" : "%03X",
                                     place.id.number());
    std::string text = "the same is in message ";
    text.append(id.data(), static_cast<std::size_t>(length));
    if (place.page) text += " page " + std::to_string(place.page->value);
    entry.notes.push_back(text + " bits " + to_string(place.span));
  }
}

Encoding encoding_of(Coding coding) {
  switch (coding) {
    case Coding::twos_complement:
      return Encoding::signed_integer;
    case Coding::ieee754:
      return Encoding::ieee_float;
    case Coding::sign_magnitude:
      return Encoding::sign_magnitude;
    case Coding::ones_complement:
      return Encoding::ones_complement;
    case Coding::decimal:
      return Encoding::decimal_digits;
    case Coding::natural:
      break;
  }
  return Encoding::unsigned_integer;
}

}  // namespace

std::string rounded(double value, int digits) {
  std::array<char, 48> text{};
  const auto stop = std::to_chars(text.data(), text.data() + text.size(), value,
                                  std::chars_format::general, digits)
                        .ptr;
  return {text.data(), stop};
}

SignalEntry draft_signal(const Proposal& proposal, const std::string& selector,
                         const DraftSource& source) {
  SignalEntry entry;
  entry.name = proposal.channel;
  entry.span = proposal.place.span;
  if (proposal.place.page) {
    entry.page = PageOf{
        selector, {.base = static_cast<std::int64_t>(proposal.place.page->value), .times = 0}};
  }
  entry.encoding = encoding_of(coding_of(proposal));
  if (proposal.states.empty()) entry.unit = proposal.unit;
  if (!proposal.table.empty()) {
    add_table(entry, proposal);
  } else if (proposal.states.empty()) {
    entry.scale = proposal.scale;
    entry.offset = proposal.offset;
  }
  add_reserved(entry, proposal);
  for (const auto& [code, word] : proposal.states) entry.states.push_back({code, word});
  entry.delay_s = to_milliseconds(proposal.delay_s);
  entry.time_constant_s = to_milliseconds(proposal.time_constant_s);
  add_notes(entry, proposal);
  std::string evidence = evidence_text(proposal, source);
  if (!source.digest.empty()) evidence += ", digest " + source.digest;
  entry.seen.push_back({source.capture, source.session, std::move(evidence)});
  return entry;
}

}  // namespace foundling
