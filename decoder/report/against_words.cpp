#include <cmath>

#include "decoder/report/against_report.h"
#include "decoder/report/figures.h"

namespace foundling {
namespace {

std::string name_of(Side side) { return side == Side::a ? "A" : "B"; }
std::string other_name(Side side) { return side == Side::a ? "B" : "A"; }

std::string place(const Difference& d) {
  std::string text = d.span ? to_string(*d.span) : "";
  if (d.page) text += " on page " + std::to_string(d.page->value);
  return text;
}

// A code with its hexadecimal digits, and what a code of all ones often means.
std::string code(double value, const Difference& d) {
  std::string text = figure(value, 6);
  if (!d.span || value != std::floor(value) || value < 0 || value > 9e15) return text;
  const int width = d.span->width();
  if (width > 1 && width < 53 && value == std::exp2(width) - 1) text += " (all ones)";
  return text;
}

std::string both(const std::string& in_a, const std::string& in_b) {
  return in_a + " in A, " + in_b + " in B";
}

// What only one recording has, or both in other forms.
std::string forms(const Difference& d, const std::string& what) {
  if (d.a_form.empty() || d.b_form.empty()) {
    const std::string& form = d.a_form.empty() ? d.b_form : d.a_form;
    return what + ' ' + place(d) + " (" + form + ") holds in " + name_of(d.side) + " alone";
  }
  if (d.a_form == d.b_form) return what + ' ' + place(d) + " goes by another formula: " + d.a_form;
  return what + ' ' + place(d) + ": " + both(d.a_form, d.b_form);
}

std::string bit_rate_text(double bits) { return figure(bits / 1000, 6) + " kbit/s"; }

std::string timing_words(const Difference& d) {
  const std::string here = name_of(d.side);
  switch (d.kind) {
    case DifferenceKind::only_in_one:
      return "came in " + here + " alone";
    case DifferenceKind::bit_rate:
      return "runs at " + both(bit_rate_text(d.a), bit_rate_text(d.b));
    case DifferenceKind::data_bit_rate:
      return "sends the data of CAN FD at " + both(bit_rate_text(d.a), bit_rate_text(d.b));
    case DifferenceKind::format:
      return "comes as CAN FD in " + here + ", as classical CAN in " + other_name(d.side);
    case DifferenceKind::period:
      return "comes every " + both(duration(d.a), "every " + duration(d.b));
    case DifferenceKind::jitter:
      return "comes less evenly in " + here + ": " + both("±" + duration(d.a), "±" + duration(d.b));
    case DifferenceKind::regularity:
      return "is periodic in " + here + ", at any time in " + other_name(d.side);
    case DifferenceKind::rate:
      return "comes " + both(figure(d.a, 3) + " times a second", figure(d.b, 3));
    case DifferenceKind::silence:
      return (d.id ? "silent in " : "nothing comes in ") + here + " from " + figure(d.from_s, 4) +
             " s to " + figure(d.to_s, 4) + " s";
    case DifferenceKind::length:
      return "has " + both(figure(d.a, 3) + " bytes", figure(d.b, 3));
    case DifferenceKind::lengths:
      return "has frames of several lengths in " + here + " alone";
    default:
      return "";
  }
}

std::string form_words(const Difference& d) {
  const std::string here = name_of(d.side);
  switch (d.kind) {
    case DifferenceKind::selector:
      return forms(d, "selector");
    case DifferenceKind::page:
      return "page " + std::to_string(d.page->value) + " of " + to_string(d.page->span) +
             " came in " + here + " alone";
    case DifferenceKind::counter:
      return forms(d, "counter");
    case DifferenceKind::checksum:
      return forms(d, "checksum");
    case DifferenceKind::transport:
      return "carries segmented transport (ISO 15765-2) in " + here + " alone";
    default:
      return "";
  }
}

std::string value_words(const Difference& d) {
  const std::string here = name_of(d.side);
  switch (d.kind) {
    case DifferenceKind::constant:
      return place(d) + " is " + both(code(d.a, d), code(d.b, d));
    case DifferenceKind::moves:
      return place(d) + " moves in " + here + "; in " + other_name(d.side) + " it is constant at " +
             code(d.side == Side::a ? d.b : d.a, d);
    case DifferenceKind::all_ones:
      return place(d) + " is all ones in " + here + " alone, which often says: not available";
    case DifferenceKind::rest:
      return place(d) + " rests at " + both(code(d.a, d), "at " + code(d.b, d));
    case DifferenceKind::noise:
      return place(d) + " is noisier in " + here + ": steps of " +
             both(figure(d.a, 2), figure(d.b, 2));
    case DifferenceKind::restarted:
      return "the count " + place(d) + " restarted " +
             (d.from_s > 0.05 ? duration(d.from_s) + " " : "") + "before " + here;
    case DifferenceKind::reset:
      return "the counts restarted in " + here + " at " + figure(d.from_s, 4) +
             " s: the board was reset";
    default:
      return "";
  }
}

}  // namespace

std::string difference_words(const Difference& difference) {
  std::string text = timing_words(difference);
  if (text.empty()) text = form_words(difference);
  return text.empty() ? value_words(difference) : text;
}

std::string_view kind_word(DifferenceKind kind) {
  switch (kind) {
    case DifferenceKind::only_in_one:
      return "only-in-one";
    case DifferenceKind::bit_rate:
      return "bit-rate";
    case DifferenceKind::data_bit_rate:
      return "data-bit-rate";
    case DifferenceKind::format:
      return "format";
    case DifferenceKind::period:
      return "period";
    case DifferenceKind::jitter:
      return "jitter";
    case DifferenceKind::regularity:
      return "regularity";
    case DifferenceKind::rate:
      return "rate";
    case DifferenceKind::silence:
      return "silence";
    case DifferenceKind::length:
      return "length";
    case DifferenceKind::lengths:
      return "lengths";
    case DifferenceKind::selector:
      return "selector";
    case DifferenceKind::page:
      return "page";
    case DifferenceKind::counter:
      return "counter";
    case DifferenceKind::checksum:
      return "checksum";
    case DifferenceKind::transport:
      return "transport";
    case DifferenceKind::constant:
      return "constant";
    case DifferenceKind::moves:
      return "moves";
    case DifferenceKind::all_ones:
      return "all-ones";
    case DifferenceKind::rest:
      return "rest";
    case DifferenceKind::noise:
      return "noise";
    case DifferenceKind::restarted:
      return "restarted";
    case DifferenceKind::reset:
      return "reset";
  }
  return "";
}

}  // namespace foundling
