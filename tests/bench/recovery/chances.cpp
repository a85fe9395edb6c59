#include "tests/bench/recovery/chances.h"

#include <algorithm>
#include <cstdio>

namespace foundling::recovery {
namespace {

std::string line_of(const std::string& family, const char* kind, const std::vector<double>& all) {
  const auto below = [&](double p) {
    const auto count = std::count_if(all.begin(), all.end(), [p](double one) { return one <= p; });
    return 100.0 * static_cast<double>(count) / static_cast<double>(all.size());
  };
  const auto proposed = std::count_if(all.begin(), all.end(), [](double p) { return p < 1; });
  char line[128];
  std::snprintf(line, sizeof line, "%-14s%-7s%6zu%9d%9.1f%9.1f%9.1f\n", family.c_str(), kind,
                all.size(), static_cast<int>(proposed), below(0.05), below(0.01), below(0.005));
  return line;
}

}  // namespace

StatedChances& StatedChances::operator+=(const StatedChances& other) {
  for (std::size_t k = 0; k < kinds; ++k) {
    stated[k].insert(stated[k].end(), other.stated[k].begin(), other.stated[k].end());
  }
  return *this;
}

StatedChances::Kind StatedChances::kind_of(const Channel& channel) {
  if (channel.is_state()) return state;
  return channel.kind == ChannelKind::sample ? sample : hold;
}

double least_chance(const Correlation& answer, const std::string& channel) {
  double least = 1;
  for (const Proposal& p : answer.proposals) {
    if (p.channel == channel && !p.derived && !p.inferred) least = std::min(least, p.chance);
  }
  return least;
}

std::string chances_table(const std::vector<std::pair<std::string, StatedChances>>& families) {
  static constexpr const char* names[] = {"hold", "sample", "state"};
  std::string text =
      "\nchances stated for channels that the board does not send, per cent of them\n"
      "family        kind   absent proposed   p<=.05   p<=.01  p<=.005\n";
  const auto lines = [&text](const std::string& family, const StatedChances& chances) {
    for (std::size_t k = 0; k < StatedChances::kinds; ++k) {
      if (!chances.stated[k].empty()) text += line_of(family, names[k], chances.stated[k]);
    }
  };
  StatedChances all;
  for (const auto& [family, chances] : families) {
    lines(family, chances);
    all += chances;
  }
  if (families.size() > 1) lines("all", all);
  return text;
}

}  // namespace foundling::recovery
