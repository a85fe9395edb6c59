#include "decoder/transport/segment_reader.h"

#include <algorithm>

namespace foundling {
namespace {

// N_Cr of ISO 15765-2: the longest time that a receiver waits for the next segment.
constexpr std::int64_t most_gap_ns = 1'000'000'000;

// A lost end and a lost beginning can leave segments of two payloads that fit together by number
// and length; they are then a whole round apart in time. So a gap must also be within five times
// the usual one, and 25 ms, which no sender's round is below (chosen). 50 ms are P2 of ISO 14229-2,
// the time in which an answer has to begin: what is taken for usual before anything was seen.
constexpr std::int64_t first_usual_ns = 50'000'000;
constexpr std::int64_t always_granted_ns = 25'000'000;
constexpr std::int64_t usual_gaps = 5;

}  // namespace

SegmentReader::SegmentReader(Transport transport)
    : transport_(transport), usual_ns_{first_usual_ns, first_usual_ns} {}

void SegmentReader::drop(std::uint64_t& why) {
  if (length_ != 0) ++why;
  length_ = 0;
}

// A running median in steps of a tenth, which a few odd gaps do not move.
bool SegmentReader::is_late(std::int64_t gap_ns) {
  std::int64_t& usual = usual_ns_[next_ == 1 && bytes_.size() < frame_ ? 0 : 1];
  const std::int64_t limit = std::min(most_gap_ns, std::max(always_granted_ns, usual_gaps * usual));
  const std::int64_t step = usual / 10 + 1;
  usual = gap_ns > usual ? std::min(gap_ns, usual + step) : std::max(gap_ns, usual - step);
  return gap_ns > limit;
}

std::optional<std::span<const std::uint8_t>> SegmentReader::take(
    std::int64_t t_ns, std::span<const std::uint8_t> frame) {
  if (transport_.kind == Transport::Kind::addressed_segments) {
    if (frame.empty() || frame[0] != transport_.address) return {};
    frame = frame.subspan(1);
  }
  ++counts_.frames;
  if (frame.empty()) return {};
  switch (frame[0] >> 4U) {
    case 0:
      return single(frame);
    case 1:
      first(t_ns, frame);
      return {};
    case 2:
      return consecutive(t_ns, frame);
    case 3:  // flow control: from the receiver of what another identifier sends
      counts_.fitting += (frame[0] & 0x0FU) <= 2 && frame.size() >= 3 ? 1U : 0U;
      return {};
    default:
      return {};
  }
}

// Length in the low nibble, or in a byte of its own where the frame has more than eight bytes.
SegmentReader::Whole SegmentReader::single(std::span<const std::uint8_t> frame) {
  std::size_t length = frame[0] & 0x0FU;
  std::size_t head = 1;
  if (length == 0 && frame.size() > 8) {
    length = frame[1];
    head = 2;
  }
  if (length == 0 || length > frame.size() - head) return {};
  drop(counts_.cut_short);
  ++counts_.fitting;
  ++counts_.single;
  bytes_.assign(frame.begin() + static_cast<std::ptrdiff_t>(head),
                frame.begin() + static_cast<std::ptrdiff_t>(head + length));
  return std::span<const std::uint8_t>(bytes_);
}

void SegmentReader::first(std::int64_t t_ns, std::span<const std::uint8_t> frame) {
  const std::size_t least = transport_.kind == Transport::Kind::addressed_segments ? 7 : 8;
  if (frame.size() < least) return;
  std::size_t length = (frame[0] & 0x0FU) * std::size_t{256} + frame[1];
  std::size_t head = 2;
  if (length == 0) {
    for (std::size_t i = 2; i < 6; ++i) length = length * 256 + frame[i];
    head = 6;
  }
  if (length <= frame.size() - head) return;  // would have fitted into one
  drop(counts_.cut_short);
  ++counts_.fitting;
  if (length > longest_payload) {
    ++counts_.too_long;
    return;
  }
  length_ = length;
  frame_ = frame.size();
  next_ = 1;
  last_ns_ = t_ns;
  bytes_.assign(frame.begin() + static_cast<std::ptrdiff_t>(head), frame.end());
}

SegmentReader::Whole SegmentReader::consecutive(std::int64_t t_ns,
                                                std::span<const std::uint8_t> frame) {
  const unsigned number = frame[0] & 0x0FU;
  if (length_ == 0) {
    ++counts_.without_first;
    counts_.fitting += number == next_ ? 1U : 0U;
    next_ = (number + 1) % 16;
    return {};
  }
  // Times that run backwards are another session's.
  const bool late = t_ns < last_ns_ || is_late(t_ns - last_ns_);
  last_ns_ = t_ns;
  const std::size_t left = length_ - bytes_.size();
  const bool whole_frame = frame.size() == frame_ || left <= frame.size() - 1;
  if (number != next_ || late || !whole_frame) {
    const bool again = !late && number == (next_ + 15) % 16 && bytes_.size() >= frame_;
    drop(late ? counts_.late : again ? counts_.repeated : counts_.out_of_order);
    next_ = (number + 1) % 16;
    return {};
  }
  ++counts_.fitting;
  next_ = (next_ + 1) % 16;
  const std::size_t taken = std::min(left, frame.size() - 1);
  bytes_.insert(bytes_.end(), frame.begin() + 1,
                frame.begin() + 1 + static_cast<std::ptrdiff_t>(taken));
  if (bytes_.size() < length_) return {};
  length_ = 0;
  ++counts_.segmented;
  return std::span<const std::uint8_t>(bytes_);
}

}  // namespace foundling
