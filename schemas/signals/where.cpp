#include "schemas/signals/where.h"

namespace foundling {

std::string where_of(const SignalEntry& entry, std::int64_t n) {
  std::string text;
  for (const PlaceWords& place : entry.places) {
    const auto number = static_cast<std::uint64_t>(n);
    const bool is_it =
        !place.members || (number >= place.members->first && number <= place.members->last);
    if (is_it) text += (text.empty() ? "" : ", ") + place.text;
  }
  return text;
}

}  // namespace foundling
