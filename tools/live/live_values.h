// The newest value of every signal of a running recording, and whether it still counts. Everything
// that is shown or sent live asks here, so nothing old is passed on as new.
#pragma once

#include <cstdint>
#include <string_view>
#include <vector>

#include "decoder/decode/decode.h"
#include "decoder/decode/freshness.h"
#include "decoder/decode/sanity.h"
#include "schemas/signals/signal_map.h"

namespace foundling {

enum class Standing : std::uint8_t {
  never,     // no value came yet
  good,      // a number, a word or a raw code
  reserved,  // the newest code is no number
  stale,     // nothing came for longer than the signal's time-out
};
[[nodiscard]] std::string_view to_string(Standing standing);

class LiveValues {
 public:
  explicit LiveValues(const SignalMap& map);  // which must outlive this

  void take(const Frame& frame);
  // Frames may be missing before the next one.
  void interrupted() { watch_.forget_counters(); }

  [[nodiscard]] std::size_t size() const { return newest_.size(); }
  [[nodiscard]] const Field& field(std::size_t i) const { return decoder_.fields()[i]; }
  [[nodiscard]] const SignalEntry& entry(std::size_t i) const { return decoder_.entry(field(i)); }
  [[nodiscard]] const DecodedValue& newest(std::size_t i) const { return newest_[i]; }
  // How many values came; whoever remembers it sees whether there is a new one.
  [[nodiscard]] std::uint64_t count(std::size_t i) const { return counts_[i]; }
  [[nodiscard]] Standing standing(std::size_t i, std::int64_t now_ns) const;
  [[nodiscard]] std::int64_t time_out_ns(std::size_t i) const { return fresh_.time_out_ns(i); }
  [[nodiscard]] std::uint64_t frames() const { return frames_; }
  [[nodiscard]] std::int64_t last_frame_ns() const { return last_frame_ns_; }
  [[nodiscard]] std::vector<SanityCheck> sanity() const { return watch_.checks(); }

 private:
  Decoder decoder_;
  Freshness fresh_;
  SanityWatch watch_;
  std::vector<DecodedValue> newest_;
  std::vector<std::uint64_t> counts_;
  std::uint64_t frames_ = 0;
  std::int64_t last_frame_ns_ = 0;
};

}  // namespace foundling
