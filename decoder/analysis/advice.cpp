#include "decoder/analysis/advice.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <map>
#include <set>
#include <utility>

namespace foundling {
namespace {

std::string number(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.4g", value);
  return text;
}

struct Range {
  double low = 0;
  double high = 0;
};

Range range_of(const ChannelSeries& channel) {
  Range range{channel.readings.front().value, channel.readings.front().value};
  for (const Reading& r : channel.readings) {
    range.low = std::min(range.low, r.value);
    range.high = std::max(range.high, r.value);
  }
  return range;
}

std::string list(const std::vector<std::string>& names) {
  std::string text;
  for (std::size_t i = 0; i < names.size(); ++i) {
    if (i > 0) text += i + 1 == names.size() ? " and " : ", ";
    text += names[i];
  }
  return text;
}

// A name that ends in digits, without them, and the digits.
std::pair<std::string, std::string> split_number(const std::string& name) {
  const std::size_t end = name.find_last_not_of("0123456789") + 1;
  return {name.substr(0, end), name.substr(end)};
}

bool follows_in_row(const std::string& name, const std::string& next) {
  const auto [stem, digits] = split_number(name);
  const auto [next_stem, next_digits] = split_number(next);
  const auto usable = [](const std::string& d) { return !d.empty() && d.size() < 9; };
  return stem == next_stem && usable(digits) && usable(next_digits) &&
         std::stol(next_digits) == std::stol(digits) + 1;
}

// Three or more that are numbered in a row are told as the first to the last.
std::vector<std::string> rows_of(const std::vector<std::string>& names) {
  std::vector<std::string> out;
  for (std::size_t i = 0; i < names.size();) {
    std::size_t end = i + 1;
    while (end < names.size() && follows_in_row(names[end - 1], names[end])) ++end;
    if (end - i >= 3) {
      out.push_back(names[i] + " to " + names[end - 1]);
      i = end;
    } else {
      out.push_back(names[i++]);
    }
  }
  return out;
}

}  // namespace

std::string advise_levels(const ChannelSeries& channel, int levels) {
  const std::string name = channel.channel.name;
  return name + " only had " + std::to_string(levels) + (levels == 1 ? " level" : " levels") +
         "; at least " + std::to_string(levels_needed) + " needed: set it to " +
         std::to_string(levels_needed) +
         " or more different values in mixed order, as far apart as its limits allow.";
}

std::string advise_words(const ChannelSeries& channel, const StateSearch& search) {
  const std::string name = channel.channel.name;
  if (search.words < 2) {
    return name + " never changed: switch it back and forth at least " +
           std::to_string(changes_needed) + " times, at irregular moments.";
  }
  if (search.changes < changes_needed) {
    return name + " changed only " + std::to_string(search.changes) +
           (search.changes == 1 ? " time" : " times") +
           ", which chance could match: switch it at least " + std::to_string(changes_needed) +
           " times, at irregular moments.";
  }
  return name + " changed " + std::to_string(search.changes) +
         " times, and chance could still match that: switch it as often again, at irregular "
         "moments and with nothing else in the same step.";
}

std::vector<std::string> advise_separation(const std::vector<Claim>& claims) {
  std::vector<std::pair<std::size_t, std::string>> advice;  // how many channels it settles
  std::set<std::vector<std::string>> told;
  for (const Claim& claim : claims) {
    if (claim.ambiguous_with.empty()) continue;
    std::vector<std::string> names = claim.ambiguous_with;
    names.push_back(claim.channel->channel.name);
    std::sort(names.begin(), names.end());
    if (!told.insert(names).second) continue;
    const Range range = range_of(*claim.channel);
    const std::string& unit = claim.channel->channel.unit;
    const std::vector<std::string> rest = claim.ambiguous_with;
    advice.emplace_back(
        names.size(),
        list(names) + " always moved together, so their fields cannot be distinguished: hold " +
            list(rest) + " still and step " + claim.channel->channel.name + " through at least " +
            std::to_string(levels_needed) + " values between " + number(range.low) + " and " +
            number(range.high) + " " + unit + " in mixed order, then the other way round.");
  }
  std::stable_sort(advice.begin(), advice.end(),
                   [](const auto& a, const auto& b) { return a.first > b.first; });
  std::vector<std::string> sentences;
  for (auto& [settled, sentence] : advice) sentences.push_back(std::move(sentence));
  return sentences;
}

std::vector<std::string> advise_range(const std::vector<Proposal>& proposals) {
  std::map<std::string, std::vector<std::string>> names_by_value;
  for (const Proposal& p : proposals) {
    if (p.untested_high_bits == 0 || p.rank != 1 || p.derived || p.inferred || p.is_float) continue;
    // One raw step beyond what the tested bits can hold would move the first untested one.
    const double raw = std::ldexp(1.0, p.place.span.width() - p.untested_high_bits);
    names_by_value[number(p.offset + p.scale * raw) + " " + p.unit].push_back(p.channel);
  }
  std::vector<std::string> parts;
  for (auto& [value, names] : names_by_value) {
    std::sort(names.begin(), names.end());
    parts.push_back(list(rows_of(names)) + " (beyond " + value + ")");
  }
  if (parts.empty()) return {};
  std::string text = parts.front();
  for (std::size_t i = 1; i < parts.size(); ++i) text += "; " + parts[i];
  return {
      "The top bits of these fields never moved, and only a value beyond the one given would "
      "show whether they belong to them: " +
      text + ". Leave it at that where it is outside the limits of a cell, a sensor or the board."};
}

}  // namespace foundling
