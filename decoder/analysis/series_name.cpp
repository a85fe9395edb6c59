#include "decoder/analysis/series_name.h"

#include <algorithm>

namespace foundling {
namespace {

bool is_digit(char c) { return c >= '0' && c <= '9'; }

}  // namespace

std::string NumberedName::with(std::int64_t other) const {
  std::string text = std::to_string(other);
  const auto wanted = static_cast<std::size_t>(digits);
  if (text.size() < wanted) text.insert(0, wanted - text.size(), '0');
  return before + text + after;
}

std::vector<NumberedName> numbered_names(const std::string& name) {
  std::vector<NumberedName> out;
  for (auto at = name.begin(); at != name.end();) {
    const auto from = std::find_if(at, name.end(), is_digit);
    const auto to = std::find_if_not(from, name.end(), is_digit);
    at = to;
    if (from == to || to - from > 6) continue;
    NumberedName one;
    one.before.assign(name.begin(), from);
    one.after.assign(to, name.end());
    one.number = std::stoll(std::string(from, to));
    one.digits = *from == '0' ? static_cast<int>(to - from) : 1;
    out.push_back(std::move(one));
  }
  return out;
}

}  // namespace foundling
