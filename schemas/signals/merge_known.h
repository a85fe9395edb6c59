// The signals that a tree has, found by name, kept in step with it message by message: so that a
// merge of thousands of findings does not read the whole tree for each.
#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "schemas/signals/document.h"
#include "schemas/signals/signal_map.h"

namespace foundling {

class KnownSignals {
 public:
  struct Found {
    std::size_t message = 0;  // its node in the document
    std::size_t node = 0;     // and the signal's in that message
    SignalEntry entry;
    SignalEntry as;  // the entry, or the member of the series, that has the name
  };

  explicit KnownSignals(const Document& document);

  // The message's node; nothing where the map has none.
  [[nodiscard]] std::optional<std::size_t> message(std::uint8_t bus, CanId id) const;

  // After a change to that message, or for a new one.
  void read_again(const Document& document, std::size_t message);

  // Signals that `found` may be by its name (cell_3 is cell_03), in the map's order: a signal also
  // as a member of a series, a series only as one of the same members.
  [[nodiscard]] std::vector<Found> named(const SignalEntry& found) const;
  // The signal of that message in the same bits and page, unless it is refuted.
  [[nodiscard]] std::optional<Found> placed(std::size_t message, const SignalEntry& found) const;
  // Whether the map has members of that series, as signals or in a series of other length.
  [[nodiscard]] bool has_members(const SignalEntry& series) const;
  // Whether that message could stand in the place of the known one: it has no faults, and no name
  // that another message has. Sizes (verify.h) are the whole map's and not looked at.
  [[nodiscard]] bool fits(const Node& changed, std::size_t message) const;

 private:
  struct Message {
    MessageEntry entry;
    std::vector<std::size_t> nodes;  // of its signals
    std::vector<std::string> keys;   // under which they are in the index
  };
  struct Place {
    std::size_t message = 0;
    std::size_t signal = 0;  // into the entry's signals
    std::int64_t n = 0;      // member of a series
    auto operator<=>(const Place&) const = default;
  };
  [[nodiscard]] const SignalEntry& entry_at(const Place& place) const;
  void index(std::size_t message);

  std::vector<Message> messages_;  // by node
  std::map<std::pair<std::uint8_t, CanId>, std::size_t> by_id_;
  std::multimap<std::string, Place> by_name_;
};

}  // namespace foundling
