#include "tools/exchange/pcapng_writer.h"

#include "tools/exchange/can_record.h"

namespace foundling {
namespace {

// Little-endian: the section header's byte-order magic says so.
void put16(std::string& bytes, std::uint32_t value) {
  bytes += static_cast<char>(value & 0xFFU);
  bytes += static_cast<char>(value >> 8U & 0xFFU);
}

void put32(std::string& bytes, std::uint32_t value) {
  put16(bytes, value & 0xFFFFU);
  put16(bytes, value >> 16U);
}

void pad(std::string& bytes) { bytes.append((4 - bytes.size() % 4) % 4, '\0'); }

void put_option(std::string& bytes, std::uint32_t code, std::string_view value) {
  put16(bytes, code);
  put16(bytes, static_cast<std::uint32_t>(value.size()));
  bytes += value;
  pad(bytes);
}

void put_block(std::string& bytes, std::uint32_t type, const std::string& body) {
  const auto length = static_cast<std::uint32_t>(body.size() + 12);
  put32(bytes, type);
  put32(bytes, length);
  bytes += body;
  put32(bytes, length);
}

std::string interface_body(unsigned number) {
  std::string body;
  put16(body, can_link_type);
  put16(body, 0);
  put32(body, longest_can_record);
  put_option(body, 2, "bus" + std::to_string(number));  // if_name
  put_option(body, 9, "\x09");                          // if_tsresol: 10^-9 s
  put_option(body, 0, "");
  return body;
}

}  // namespace

void PcapngWriter::begin(std::string& bytes, std::string_view made_by) const {
  std::string body;
  put32(body, 0x1A2B3C4D);
  put16(body, 1);  // version 1.0
  put16(body, 0);
  body.append(8, '\xFF');        // section length not given
  put_option(body, 4, made_by);  // shb_userappl
  put_option(body, 0, "");
  put_block(bytes, 0x0A0D0D0A, body);
}

void PcapngWriter::append(std::string& bytes, const Frame& frame, std::int64_t stamp_ns) {
  for (; interfaces_ <= frame.bus; ++interfaces_) {
    put_block(bytes, 1, interface_body(interfaces_));
  }
  const auto stamp = static_cast<std::uint64_t>(stamp_ns);
  std::string record;
  append_can_record(record, frame);
  std::string body;
  put32(body, frame.bus);
  put32(body, static_cast<std::uint32_t>(stamp >> 32U));
  put32(body, static_cast<std::uint32_t>(stamp & 0xFFFFFFFFU));
  put32(body, static_cast<std::uint32_t>(record.size()));
  put32(body, static_cast<std::uint32_t>(record.size()));
  body += record;
  pad(body);
  put_block(bytes, 6, body);
}

}  // namespace foundling
