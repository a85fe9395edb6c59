#include "decoder/report/figures.h"
#include "decoder/report/relations_report.h"

namespace foundling {
namespace {

constexpr std::size_t enough_alike = 4;

std::string freedom(const relate::Relations& found) {
  const relate::SumRelation& sum = found.sums.front();
  return "Left open: one scale that all " + std::to_string(sum.members.size()) +
         " members have in common, and their offsets, of which only the sum shows.";
}

// Which member is which: the board says it, or nobody does.
std::string numbering(const relate::Relations& found) {
  for (const relate::ExtremeRelation& one : found.extremes) {
    const bool number = one.kind == relate::ExtremeKind::number_of_lowest ||
                        one.kind == relate::ExtremeKind::number_of_highest;
    if (!number || !one.strong) continue;
    return "The board itself numbers the members in the order of the bus, from " +
           figure(one.constant, 6) + ", in " + place_text(found.fields[one.field].place, false) +
           ".";
  }
  return "Which member is which cell is not known: they are numbered in the order of the bus.";
}

std::string readings_wanted(const RelationsSource& source) {
  const std::string count = std::to_string(relate::fewest_readings);
  if (source.unit_channels.empty()) {
    return "Measure the pack's voltage at " + count +
           " moments at which it differs, and write each down with `foundling stimulus`: that "
           "gives "
           "every member its scale.";
  }
  return "The readings of " + source.unit_channels + " do not fix the scale: fewer than " + count +
         " different ones while the board was sending, or they go with one member as well as with "
         "the sum. Measure the pack's voltage at " +
         count + " moments at which it differs.";
}

}  // namespace

std::vector<std::string> relations_advice(const relate::Relations& found,
                                          const RelationsSource& source) {
  std::vector<std::string> out;
  const bool strong = !found.sums.empty() && found.sums.front().strong;
  if (strong) out.push_back(numbering(found));
  if (strong && !found.scale) {
    out.push_back(freedom(found));
    out.push_back(readings_wanted(source));
  }
  if (found.scale) {
    out.emplace_back(
        "By relation is weaker than by a stimulus. Record a second session and run `foundling "
        "check`, or measure some of the cells, before you rely on it.");
    if (!found.scale->current.empty()) {
      out.push_back("The readings sag with " + found.scale->current + ", by " +
                    engineering(std::abs(found.scale->resistance), "Ω", 2) +
                    ": wires and contacts between cells and meter. That was taken out.");
    }
  }
  if (strong) return out;
  if (found.largest_alike.size() < enough_alike) {
    out.push_back("Among " + std::to_string(found.moved()) +
                  " fields that moved there are no four alike, such as cells would be. Let the "
                  "cells move: change the load current, or charge for some minutes.");
  } else {
    out.push_back("The largest group of alike fields has " +
                  std::to_string(found.largest_alike.size()) +
                  " members, but for no field do three of them show the same weight in it by their "
                  "own motion. What moves all of them alike shows no weights: let single cells "
                  "differ (a lamp or a resistor over one cell after another, or balancing), for "
                  "some seconds each, and vary the load current.");
  }
  return out;
}

}  // namespace foundling
