// Whether a channel has come to rest, as the board itself says: from the running capture's frames
// through a signal map.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "decoder/decode/decode.h"
#include "schemas/signals/signal_map.h"
#include "schemas/values/result.h"
#include "tools/live/capture_follower.h"

namespace foundling {

struct LiveValue {
  std::int64_t t_ns = 0;
  double value = 0;  // of states the raw code
};

// Over the last `window_ns` before `now_ns` three values or more, none further from another than
// `tolerance`; and it was watched for as long. Pure.
[[nodiscard]] bool is_still(std::span<const LiveValue> values, std::int64_t from_ns,
                            std::int64_t now_ns, std::int64_t window_ns, double tolerance);

class LiveChannels {
 public:
  // Signals whose names are among `channels`. The map must outlive this.
  static Result<std::unique_ptr<LiveChannels>> open(const std::string& capture,
                                                    const SignalMap& map,
                                                    const std::vector<std::string>& channels);

  [[nodiscard]] bool knows(const std::string& channel) const;
  void begin();           // what came before no longer counts
  Result<void> follow();  // reads what has come since
  // `least`: a change that never matters, in the channel's unit; two steps of the raw value too.
  [[nodiscard]] bool is_settled(const std::string& channel, std::int64_t window_ns,
                                double least) const;

 private:
  LiveChannels(CaptureFollower follower, Decoder decoder)
      : follower_(std::move(follower)), decoder_(std::move(decoder)) {}

  CaptureFollower follower_;
  Decoder decoder_;
  std::map<std::string, std::uint32_t, std::less<>> fields_;  // by channel, into the decoder's
  std::map<std::uint32_t, std::vector<LiveValue>> values_;
  std::int64_t from_ns_ = 0;
};

}  // namespace foundling
