// Synthesised streams of what a listener on a CAN bus gets: frames and error frames as a driver
// would report them (linux/can/error.h). Invented, after the rules of ISO 11898-1 (from memory): no
// controller was at hand to be run at a wrong rate.
#pragma once

#include <linux/can/error.h>

#include <array>
#include <cstdint>
#include <optional>
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

// A bus with frames of CAN FD, as a listen-only controller meets it. FD switched on and the rates
// right: frames come in. The data rate wrong: errors within the data. FD off: a form error at the
// reserved bit, or, of a controller that is tolerant of FD, nothing. Classical frames come in
// whatever the data rate.
struct FdBus {
  std::uint32_t bit_rate = 500'000;
  std::uint32_t data = 2'000'000;  // of the FD frames; 0: there are none
  int classical = 0;               // frames beside them
  bool switches = true;            // the FD frames, to the data rate
  bool tolerant = false;           // the listener's classical mode
  bool alone = false;              // nobody acknowledges
  bool adapter_has_fd = true;

  [[nodiscard]] std::optional<Listening> listen(std::uint32_t at, std::uint32_t at_data) const {
    if (at_data != 0 && !adapter_has_fd) return std::nullopt;
    if (at != bit_rate && (data != 0 || classical > 0)) return elsewhere(at, at_data);
    Listening heard(at, at_data);
    for (int i = 0; i < classical; ++i) {
      heard.add(data_frame(i * 10'000'000, 0x100, static_cast<std::uint8_t>(i)));
    }
    for (int i = 0; i < 30 && data != 0; ++i) hear_fd(i, heard);
    return heard;
  }

 private:
  [[nodiscard]] static Listening elsewhere(std::uint32_t at, std::uint32_t at_data) {
    Listening heard(at, at_data);
    for (int i = 0; i < 20; ++i) {
      heard.add(error_frame(CAN_ERR_PROT, CAN_ERR_PROT_STUFF, CAN_ERR_PROT_LOC_ID28_21));
    }
    return heard;
  }

  void hear_fd(int i, Listening& heard) const {
    if (heard.data_bit_rate() == 0) {
      if (!tolerant) {
        heard.add(error_frame(CAN_ERR_PROT, CAN_ERR_PROT_FORM, CAN_ERR_PROT_LOC_RES0));
      }
    } else if (switches && heard.data_bit_rate() != data) {
      const auto type = i % 2 == 0 ? CAN_ERR_PROT_STUFF : CAN_ERR_PROT_FORM;
      heard.add(error_frame(CAN_ERR_PROT, static_cast<std::uint8_t>(type), CAN_ERR_PROT_LOC_DATA));
    } else {
      const std::int64_t apart_ns = alone ? 150LL * 1'000'000'000 / bit_rate : 10'000'000;
      Frame frame =
          data_frame(i * apart_ns, 0x200, alone ? std::uint8_t{7} : static_cast<std::uint8_t>(i));
      frame.length = 16;
      frame.flags = fd_flag_fd_format;
      if (switches) frame.flags |= fd_flag_bit_rate_switch;
      heard.add(frame);
    }
  }
};

}  // namespace foundling::synthesised
