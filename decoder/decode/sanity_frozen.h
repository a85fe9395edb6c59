// Values that froze: a numeric signal that used to move stands still for ten times as long as ever
// before, and at least half a minute, while what is like it goes on moving: the other members of
// its group, or else the other signals of its message. A hint: a resting pack can look like that. A
// value of zero is never called frozen. Used by the sanity watch only.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "decoder/decode/sanity.h"
#include "decoder/decode/sanity_groups.h"

namespace foundling {

class FrozenWatch {
 public:
  FrozenWatch(const SignalMap& map, std::span<const Field> fields,
              std::span<const SanityGroup> groups);
  void see(const DecodedValue& value);
  // One a frozen signal; a single one over all of them where none froze.
  [[nodiscard]] std::vector<SanityCheck> checks(std::span<const Field> fields) const;

 private:
  struct Signal {
    std::uint64_t raw = 0;
    bool started = false;
    bool frozen = false;
    std::uint64_t changes = 0;
    std::int64_t since_ns = 0;    // of the last change
    std::int64_t longest_ns = 0;  // between two changes
    std::int64_t look_again_ns = 0;
    std::size_t family = 0;
  };
  [[nodiscard]] bool is_frozen(Signal& signal, const DecodedValue& value) const;
  void note(std::size_t field, std::int64_t t_ns);

  std::vector<Signal> signals_;      // looked at with every value: kept small
  std::vector<SanityCheck> checks_;  // of each
  // The members of a group, or the numeric signals of a message: once for all of them, as a list
  // for each would grow with their square.
  std::vector<std::vector<std::size_t>> families_;
};

}  // namespace foundling
