#include "tools/signal_choice.h"

#include <algorithm>
#include <cstddef>

#include "schemas/signals/field.h"
#include "tools/command_line.h"
#include "tools/name_pattern.h"

namespace foundling {

bool SignalChoice::takes(std::string_view name, Status status) const {
  if (confirmed_only && status != Status::confirmed) return false;
  return patterns.empty() || std::ranges::any_of(patterns, [name](const std::string& pattern) {
           return matches(pattern, name);
         });
}

void declare_signal_choice(CommandLine app, SignalChoice& choice) {
  app.add_option(
         "--signal", choice.patterns,
         "Only signals of this name; *, ? and [1-4] as in a shell; may be given several times")
      .type_name("PATTERN")
      .one_value_each();
  app.add_flag("--confirmed-only", choice.confirmed_only,
               "Only signals that the map calls confirmed; how many are left out is said");
}

Result<std::string> check_choice(const SignalMap& map, const SignalChoice& choice) {
  for (const std::string& pattern : choice.patterns) {
    const auto known = check_pattern(map, pattern);
    if (!known) return known.error();
  }
  if (!choice.confirmed_only) return std::string();
  const SignalChoice by_name{choice.patterns, false};
  std::size_t named = 0;
  std::size_t taken = 0;
  for (const Field& field : fields_of(map)) {
    const Status status = map.messages[field.message].signals[field.entry].status;
    named += by_name.takes(field.name, status) ? 1U : 0U;
    taken += choice.takes(field.name, status) ? 1U : 0U;
  }
  const std::string signals = std::to_string(named) + (named == 1 ? " signal" : " signals");
  if (taken == 0) {
    return Error{ErrorCode::usage, "--confirmed-only leaves nothing: of " + signals +
                                       " the map calls none confirmed ('status confirmed' under a "
                                       "signal, once it was checked on a second session)"};
  }
  if (taken == named) return std::string();
  return "--confirmed-only: " + std::to_string(named - taken) + " of " + signals +
         " left out, not confirmed in the map";
}

}  // namespace foundling
