#include "tools/bus/error_classes.h"

#include <linux/can.h>
#include <linux/can/error.h>

namespace foundling {
namespace {

std::uint8_t byte(std::span<const std::uint8_t> data, std::size_t index) {
  return index < data.size() ? data[index] : std::uint8_t{0};
}

// Where the fault was counts more than its form: a form error at the acknowledge delimiter is the
// sender's own error flag over a missing acknowledge.
BusFault protocol_fault(std::uint8_t type, std::uint8_t place) {
  switch (place) {
    case CAN_ERR_PROT_LOC_ACK:
    case CAN_ERR_PROT_LOC_ACK_DEL:
      return BusFault::acknowledge;
    case CAN_ERR_PROT_LOC_CRC_SEQ:
    case CAN_ERR_PROT_LOC_CRC_DEL:
      return (type & CAN_ERR_PROT_STUFF) != 0 ? BusFault::stuff : BusFault::crc;
    case CAN_ERR_PROT_LOC_RES0:
    case CAN_ERR_PROT_LOC_RES1:
      if ((type & CAN_ERR_PROT_FORM) != 0) return BusFault::reserved_bit;
      break;
    default:
      break;
  }
  if ((type & CAN_ERR_PROT_STUFF) != 0) return BusFault::stuff;
  if ((type & CAN_ERR_PROT_FORM) != 0) return BusFault::form;
  if ((type & (CAN_ERR_PROT_BIT | CAN_ERR_PROT_BIT0 | CAN_ERR_PROT_BIT1)) != 0) {
    return BusFault::bit;
  }
  return BusFault::unspecified;
}

}  // namespace

BusFault classify_error_frame(CanId id, std::span<const std::uint8_t> data) {
  if ((id.raw & CAN_ERR_ACK) != 0) return BusFault::acknowledge;
  if ((id.raw & CAN_ERR_PROT) != 0) return protocol_fault(byte(data, 2), byte(data, 3));
  if ((id.raw & CAN_ERR_BUSERROR) != 0) return BusFault::unspecified;
  return BusFault::none;
}

}  // namespace foundling
