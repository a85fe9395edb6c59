#include "schemas/signals/evidence_words.h"

#include <algorithm>

namespace foundling {

bool only_by_relation(const SignalEntry& entry) {
  return entry.status == Status::proposed && !entry.seen.empty() &&
         std::ranges::all_of(entry.seen, [](const Evidence& evidence) {
           return evidence.text.find(by_relation_word) != std::string::npos;
         });
}

}  // namespace foundling
