// From what was heard at one bit rate to what is the matter with the bus. Pure: frames and error
// frames in, a verdict out.
//
// The bench trap: with one board and one silent listener nobody acknowledges. The board then sends
// the same frame again and again. A listener at the right rate meets errors only in the acknowledge
// slot and its delimiter, for the sender answers there with its error flag; after sixteen of them
// (eight counts each up to 128) the sender is error passive, its flag is no longer seen, and the
// listener receives the same frame over and over, one behind the other. At a wrong rate nothing is
// received, and errors are of stuff, form, bit and CRC. ISO 11898-1, fault confinement.
#pragma once

#include <cstdint>
#include <span>
#include <string>

#include "schemas/values/frame.h"
#include "tools/bus/error_classes.h"

namespace foundling {

struct HeardFaults {
  std::uint64_t acknowledge = 0, stuff = 0, form = 0, crc = 0, bit = 0, reserved_bit = 0;
  std::uint64_t unspecified = 0;

  void add(BusFault fault);
  [[nodiscard]] std::uint64_t wrong_rate_kinds() const { return stuff + form + crc + bit; }
  [[nodiscard]] std::uint64_t all() const {
    return acknowledge + wrong_rate_kinds() + reserved_bit + unspecified;
  }
};

// What was heard at one rate.
class Listening {
 public:
  explicit Listening(std::uint32_t bit_rate, std::uint32_t data_bit_rate = 0)
      : bit_rate_(bit_rate), data_bit_rate_(data_bit_rate) {}

  void add(const Frame& frame);  // data, remote or error; t_ns never runs backwards
  void add_error_count(std::uint64_t errors) { faults_.unspecified += errors; }

  [[nodiscard]] std::uint32_t bit_rate() const { return bit_rate_; }
  [[nodiscard]] std::uint32_t data_bit_rate() const { return data_bit_rate_; }  // 0: classical
  [[nodiscard]] std::uint64_t frames() const { return frames_; }
  [[nodiscard]] std::uint64_t fd_frames() const { return fd_frames_; }  // of these
  // Of these, such as send their data at the data rate: nothing else proves it.
  [[nodiscard]] std::uint64_t switched() const { return switched_; }
  [[nodiscard]] const HeardFaults& faults() const { return faults_; }
  [[nodiscard]] const Frame& first() const { return first_; }  // of frames() > 0
  // At least ten frames, all alike, one behind the other.
  [[nodiscard]] bool repeats_one_frame() const;

 private:
  std::uint32_t bit_rate_;
  std::uint32_t data_bit_rate_;
  std::uint64_t frames_ = 0;
  std::uint64_t fd_frames_ = 0;
  std::uint64_t switched_ = 0;
  bool all_alike_ = true;
  Frame first_;
  std::int64_t last_ns_ = 0;
  HeardFaults faults_;
};

enum class BusVerdict : std::uint8_t {
  good,                // this is the rate: frames come in
  noisy,               // this is the rate, but more than one frame in ten fails
  not_acknowledged,    // this is the rate, and nobody acknowledges
  fd_frames,           // this is the rate, and the bus speaks CAN FD
  wrong_rate,          // traffic that makes no sense at this rate
  unspecified_errors,  // errors of a kind that the adapter does not tell
  silent,              // nothing at all
};

[[nodiscard]] BusVerdict judge(const Listening& heard);
[[nodiscard]] bool is_right_rate(BusVerdict verdict);

}  // namespace foundling
