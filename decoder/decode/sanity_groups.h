// A group of look-alike signals (the cells) against what the board says of all of them: its sum,
// least and largest. Board values of one moment come in different messages, late and filtered by
// different amounts, so no two of them are compared directly: over a stretch of ten seconds each
// covers a range, and ranges of the same thing have to meet, whatever the lag below the stretch.
// Used by the sanity watch only.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "decoder/decode/sanity.h"

namespace foundling {

struct ValueRange {
  double low = 0;
  double high = 0;
  bool any = false;

  void take(double value);
};

// Which fields belong together; indices into the fields.
struct SanityGroup {
  struct Against {
    SanityKind kind{};
    std::size_t field = 0;
  };
  std::string name;                  // "cell"
  std::vector<std::size_t> members;  // at least four
  std::vector<Against> against;      // may be empty
};
[[nodiscard]] std::vector<SanityGroup> sanity_groups(const SignalMap& map,
                                                     std::span<const Field> fields);

class GroupWatch {
 public:
  GroupWatch(SanityGroup group, const SignalMap& map, std::span<const Field> fields);

  // `ranges` of all fields over the stretch that ends now.
  void close_stretch(std::span<const ValueRange> ranges, std::int64_t from_ns, std::int64_t to_ns);
  [[nodiscard]] std::vector<SanityCheck> checks() const;

 private:
  struct Watched {
    std::size_t field = 0;
    double steps = 0;  // half a step of every field that takes part
    SanityCheck check;
    double worst_said = 0;  // by the board, where it was worst
    double worst_cells = 0;
  };
  SanityGroup group_;
  std::vector<Watched> watched_;
};

}  // namespace foundling
