// Synthesised streams of what a listener on a CAN bus gets: frames and error frames as a driver
// would report them (linux/can/error.h). Invented, after the rules of ISO 11898-1 (from memory): no
// controller was at hand to be run at a wrong rate.
#pragma once

#include <linux/can/error.h>

#include <array>
#include <cstdint>
#include <random>

#include "tools/bus/bus_finding.h"

namespace foundling::synthesised {

inline Frame error_frame(std::uint32_t classes, std::uint8_t type = 0, std::uint8_t place = 0) {
  Frame frame;
  frame.id = {CanId::error_flag | classes};
  frame.length = 8;
  frame.payload[2] = type;
  frame.payload[3] = place;
  return frame;
}

inline Frame data_frame(std::int64_t t_ns, std::uint32_t number, std::uint8_t first_byte) {
  Frame frame;
  frame.t_ns = t_ns;
  frame.id = CanId::standard(number);
  frame.length = 8;
  frame.payload[0] = first_byte;
  return frame;
}

// A receiver that samples at another rate than the bus: it stumbles wherever its wrong bits happen
// to break a rule, mostly over the stuff rule; nothing gets through.
inline Listening wrong_rate(std::uint32_t bit_rate, int errors, unsigned seed) {
  Listening heard(bit_rate);
  std::mt19937 dice(seed);
  constexpr std::array<std::uint8_t, 5> places{CAN_ERR_PROT_LOC_ID28_21, CAN_ERR_PROT_LOC_DLC,
                                               CAN_ERR_PROT_LOC_DATA, CAN_ERR_PROT_LOC_CRC_SEQ,
                                               CAN_ERR_PROT_LOC_EOF};
  for (int i = 0; i < errors; ++i) {
    const std::uint8_t place = places[dice() % places.size()];
    const bool form = place == CAN_ERR_PROT_LOC_EOF;
    const bool crc = place == CAN_ERR_PROT_LOC_CRC_SEQ && dice() % 2 == 0;
    const std::uint8_t type = form  ? std::uint8_t{CAN_ERR_PROT_FORM}
                              : crc ? std::uint8_t{0}
                                    : std::uint8_t{CAN_ERR_PROT_STUFF};
    heard.add(error_frame(CAN_ERR_PROT | CAN_ERR_BUSERROR, type, place));
  }
  return heard;
}

// A board alone with a silent listener. While it is error active its flag over the missing
// acknowledge is a form error at the delimiter, 16 times (8 counts each, passive from 128 on); then
// it repeats its frame unseen: 11-bit identifier, 8 bytes, no more than 135 bits with stuffing, a
// passive error flag and delimiter (14), the pause of a passive sender (8) and the intermission
// (3).
inline Listening nobody_acknowledges(std::uint32_t bit_rate, bool from_the_start, int repeats) {
  Listening heard(bit_rate);
  for (int i = 0; from_the_start && i < 16; ++i) {
    heard.add(
        error_frame(CAN_ERR_PROT | CAN_ERR_BUSERROR, CAN_ERR_PROT_FORM, CAN_ERR_PROT_LOC_ACK_DEL));
  }
  const std::int64_t interval_ns = 125LL * 1'000'000'000 / bit_rate;
  for (int i = 0; i < repeats; ++i) heard.add(data_frame(i * interval_ns, 0x1A4, 7));
  return heard;
}

}  // namespace foundling::synthesised
