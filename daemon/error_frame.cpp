#include "daemon/error_frame.h"

#include <linux/can.h>
#include <linux/can/error.h>

#include <algorithm>
#include <array>

namespace foundling {
namespace {

struct Word {
  unsigned code;
  std::string_view text;
};

using Bytes = std::array<std::uint8_t, CAN_ERR_DLC>;

constexpr Word controller_words[] = {
    {CAN_ERR_CRTL_RX_OVERFLOW, "receive buffer overran"},
    {CAN_ERR_CRTL_TX_OVERFLOW, "transmit buffer overran"},
    {CAN_ERR_CRTL_RX_WARNING, "receive errors reached the warning level"},
    {CAN_ERR_CRTL_TX_WARNING, "transmit errors reached the warning level"},
    {CAN_ERR_CRTL_RX_PASSIVE, "error passive by receive errors"},
    {CAN_ERR_CRTL_TX_PASSIVE, "error passive by transmit errors"},
    {CAN_ERR_CRTL_ACTIVE, "back to error active"},
};

constexpr Word protocol_words[] = {
    {CAN_ERR_PROT_BIT, "single bit error"},
    {CAN_ERR_PROT_FORM, "form error"},
    {CAN_ERR_PROT_STUFF, "stuff error"},
    {CAN_ERR_PROT_BIT0, "could not send a dominant bit"},
    {CAN_ERR_PROT_BIT1, "could not send a recessive bit"},
    {CAN_ERR_PROT_OVERLOAD, "bus overload"},
    {CAN_ERR_PROT_ACTIVE, "active error announcement"},
    {CAN_ERR_PROT_TX, "while transmitting"},
};

constexpr Word place_words[] = {
    {CAN_ERR_PROT_LOC_SOF, "start of frame"},
    {CAN_ERR_PROT_LOC_ID28_21, "identifier bits 28 to 21"},
    {CAN_ERR_PROT_LOC_ID20_18, "identifier bits 20 to 18"},
    {CAN_ERR_PROT_LOC_SRTR, "substitute remote bit"},
    {CAN_ERR_PROT_LOC_IDE, "identifier extension bit"},
    {CAN_ERR_PROT_LOC_ID17_13, "identifier bits 17 to 13"},
    {CAN_ERR_PROT_LOC_ID12_05, "identifier bits 12 to 5"},
    {CAN_ERR_PROT_LOC_ID04_00, "identifier bits 4 to 0"},
    {CAN_ERR_PROT_LOC_RTR, "remote bit"},
    {CAN_ERR_PROT_LOC_RES1, "reserved bit 1"},
    {CAN_ERR_PROT_LOC_RES0, "reserved bit 0"},
    {CAN_ERR_PROT_LOC_DLC, "length code"},
    {CAN_ERR_PROT_LOC_DATA, "data"},
    {CAN_ERR_PROT_LOC_CRC_SEQ, "CRC sequence"},
    {CAN_ERR_PROT_LOC_CRC_DEL, "CRC delimiter"},
    {CAN_ERR_PROT_LOC_ACK, "acknowledge slot"},
    {CAN_ERR_PROT_LOC_ACK_DEL, "acknowledge delimiter"},
    {CAN_ERR_PROT_LOC_EOF, "end of frame"},
    {CAN_ERR_PROT_LOC_INTERM, "intermission"},
};

constexpr Word transceiver_words[] = {
    {CAN_ERR_TRX_CANH_NO_WIRE, "CAN high: no wire"},
    {CAN_ERR_TRX_CANH_SHORT_TO_BAT, "CAN high: short to battery"},
    {CAN_ERR_TRX_CANH_SHORT_TO_VCC, "CAN high: short to supply"},
    {CAN_ERR_TRX_CANH_SHORT_TO_GND, "CAN high: short to ground"},
    {CAN_ERR_TRX_CANL_NO_WIRE, "CAN low: no wire"},
    {CAN_ERR_TRX_CANL_SHORT_TO_BAT, "CAN low: short to battery"},
    {CAN_ERR_TRX_CANL_SHORT_TO_VCC, "CAN low: short to supply"},
    {CAN_ERR_TRX_CANL_SHORT_TO_GND, "CAN low: short to ground"},
    {CAN_ERR_TRX_CANL_SHORT_TO_CANH, "CAN low: short to CAN high"},
};

void append(std::string& text, std::string_view part, std::string_view separator) {
  if (!text.empty()) text += separator;
  text += part;
}

std::string flags_in_words(unsigned byte, std::span<const Word> words) {
  std::string text;
  for (const Word& word : words) {
    if ((byte & word.code) != 0) append(text, word.text, ", ");
  }
  return text.empty() ? "unspecified" : text;
}

std::string_view code_in_words(unsigned byte, std::span<const Word> words) {
  const auto found = std::ranges::find(words, byte, &Word::code);
  return found == words.end() ? std::string_view{} : found->text;
}

// The high and the low wire have a half byte each; a short between them is a code of its own.
std::string transceiver_in_words(unsigned byte) {
  std::string text;
  for (const unsigned part : {byte & 0x0FU, byte & 0xF0U}) {
    const auto words = part == 0 ? std::string_view{} : code_in_words(part, transceiver_words);
    if (!words.empty()) append(text, words, ", ");
  }
  return text.empty() ? "unspecified" : text;
}

std::string protocol_in_words(const Bytes& data) {
  std::string text = "protocol violation: " + flags_in_words(data[2], protocol_words);
  const auto place = code_in_words(data[3], place_words);
  if (!place.empty()) text.append(" at the ").append(place);
  return text;
}

std::string arbitration_in_words(const Bytes& data) {
  if (data[0] == CAN_ERR_LOSTARB_UNSPEC) return "lost arbitration";
  return "lost arbitration at bit " + std::to_string(data[0]);
}

std::string in_words(canid_t classes, const Bytes& data) {
  std::string text;
  const auto say = [&](canid_t bit, const std::string& words) {
    if ((classes & bit) != 0) append(text, words, "; ");
  };
  say(CAN_ERR_BUSOFF, "bus off: the controller has left the bus");
  say(CAN_ERR_RESTARTED, "the controller was restarted");
  say(CAN_ERR_TX_TIMEOUT, "transmit time-out");
  say(CAN_ERR_LOSTARB, arbitration_in_words(data));
  say(CAN_ERR_CRTL, "controller: " + flags_in_words(data[1], controller_words));
  say(CAN_ERR_PROT, protocol_in_words(data));
  say(CAN_ERR_TRX, "transceiver: " + transceiver_in_words(data[4]));
  say(CAN_ERR_ACK, "no acknowledge");
  say(CAN_ERR_BUSERROR, "bus error");
  say(CAN_ERR_CNT, "error counters: transmit " + std::to_string(data[6]) + ", receive " +
                       std::to_string(data[7]));
  return text.empty() ? "an error of no known class" : text;
}

}  // namespace

ErrorReport describe_error_frame(CanId id, std::span<const std::uint8_t> data) {
  Bytes bytes{};
  std::copy_n(data.begin(), std::min(data.size(), bytes.size()), bytes.begin());
  const canid_t classes = id.raw & CAN_ERR_MASK;
  const bool controller = (classes & CAN_ERR_CRTL) != 0;
  constexpr unsigned overran = CAN_ERR_CRTL_RX_OVERFLOW | CAN_ERR_CRTL_TX_OVERFLOW;
  const bool state = (classes & (CAN_ERR_BUSOFF | CAN_ERR_RESTARTED)) != 0 ||
                     (controller && (bytes[1] & ~overran) != 0);
  return {state ? "state" : "error-frame", in_words(classes, bytes),
          controller && (bytes[1] & CAN_ERR_CRTL_RX_OVERFLOW) != 0};
}

}  // namespace foundling
