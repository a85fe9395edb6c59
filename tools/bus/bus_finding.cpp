#include "tools/bus/bus_finding.h"

#include <algorithm>

namespace foundling {
namespace {

constexpr std::uint64_t enough_repeats = 10;
// A CRC of 15 bits lets one garbled frame in 32,768 pass; two in one listening are no accident.
constexpr std::uint64_t frames_that_prove = 2;
// Fewer faults of a kind than this may come from the moment of switching on.
constexpr std::uint64_t enough_faults = 3;

// The longest a frame of n bytes takes, with all stuff bits (Davis, Burns, Bril, Lukkien 2007), the
// error frame behind it (6 + 6 + 8 bits at most) and the passive sender's pause (8 + 3).
// Of an FD frame all at the nominal rate, which is longer than it takes.
double longest_bits(const Frame& frame) {
  const int control = frame.id.is_extended() ? 54 : 34;
  const bool fd = (frame.flags & fd_flag_fd_format) != 0;
  const int n = fd ? 8 * frame.length + 16 : 8 * std::min<int>(frame.length, 8);
  return control + n + 13 + (control + n - 1) / 4 + 20 + 11;
}

// Of all but the acknowledge faults; a few others come from switching on in the midst of a frame.
bool mostly(std::uint64_t part, std::uint64_t other) {
  return part >= enough_faults && part >= 4 * other;
}

}  // namespace

void HeardFaults::add(BusFault fault) {
  switch (fault) {
    case BusFault::acknowledge:
      ++acknowledge;
      break;
    case BusFault::stuff:
      ++stuff;
      break;
    case BusFault::form:
      ++form;
      break;
    case BusFault::crc:
      ++crc;
      break;
    case BusFault::bit:
      ++bit;
      break;
    case BusFault::reserved_bit:
      ++reserved_bit;
      break;
    case BusFault::unspecified:
      ++unspecified;
      break;
    case BusFault::none:
      break;
  }
}

void Listening::add(const Frame& frame) {
  if (frame.id.is_error()) {
    faults_.add(classify_error_frame(frame.id, frame.bytes()));
    return;
  }
  if (frames_ == 0) first_ = frame;
  all_alike_ = all_alike_ && frame.id == first_.id && frame.length == first_.length &&
               frame.payload == first_.payload;
  last_ns_ = frame.t_ns;
  ++frames_;
  if ((frame.flags & fd_flag_fd_format) == 0) return;
  ++fd_frames_;
  if ((frame.flags & fd_flag_bit_rate_switch) != 0) ++switched_;
}

bool Listening::repeats_one_frame() const {
  if (!all_alike_ || frames_ < enough_repeats || bit_rate_ == 0) return false;
  const double seconds = static_cast<double>(last_ns_ - first_.t_ns) * 1e-9;
  const double bits_a_frame = seconds * bit_rate_ / static_cast<double>(frames_ - 1);
  return bits_a_frame <= 1.5 * longest_bits(first_);
}

BusVerdict judge(const Listening& heard) {
  const HeardFaults& faults = heard.faults();
  if (heard.frames() >= frames_that_prove) {
    if (heard.repeats_one_frame()) return BusVerdict::not_acknowledged;
    if (mostly(faults.acknowledge, faults.wrong_rate_kinds()) &&
        faults.acknowledge > heard.frames()) {
      return BusVerdict::not_acknowledged;
    }
    return faults.all() * 10 > heard.frames() ? BusVerdict::noisy : BusVerdict::good;
  }
  if (mostly(faults.acknowledge, faults.wrong_rate_kinds() + faults.reserved_bit)) {
    return BusVerdict::not_acknowledged;
  }
  if (mostly(faults.reserved_bit, faults.wrong_rate_kinds())) return BusVerdict::fd_frames;
  if (faults.wrong_rate_kinds() > 0) return BusVerdict::wrong_rate;
  if (heard.frames() > 0) return BusVerdict::good;
  if (faults.all() > 0) return BusVerdict::unspecified_errors;
  return BusVerdict::silent;
}

bool is_right_rate(BusVerdict verdict) {
  return verdict == BusVerdict::good || verdict == BusVerdict::noisy ||
         verdict == BusVerdict::not_acknowledged || verdict == BusVerdict::fd_frames;
}

}  // namespace foundling
