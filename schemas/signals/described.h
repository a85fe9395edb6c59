// What a map says as a list of named facts, for comparing one map with another: no order, no
// formulas, no names of selectors, which are means and not meaning.
#pragma once

#include <map>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "schemas/signals/signal_map.h"

namespace foundling {

// What is said once has an empty second key; notes, states and the like have their text or code.
using Said = std::map<std::pair<std::string, std::string>, std::string>;

struct DescribedSignal {
  std::string name;
  std::string series;  // empty: a plain signal
  std::int64_t number = 0;
  std::string place;  // message, page and bits: the same signal under another name has the same
  Said where;         // the same, as facts
  std::shared_ptr<const Said> facts;  // all others; members of a series share them
};

[[nodiscard]] Said describe_map(const SignalMap& map);
[[nodiscard]] Said describe_message(const MessageEntry& message);
// Every signal, series member by member, refuted ones too.
[[nodiscard]] std::vector<DescribedSignal> describe_signals(const SignalMap& map);
[[nodiscard]] std::string message_name(const MessageEntry& message);

}  // namespace foundling
