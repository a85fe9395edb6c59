#include "tools/exchange/pcapng_interfaces.h"

#include <array>

namespace foundling {
namespace {

constexpr std::uint32_t section_header = 0x0A0D0D0A;
constexpr std::uint32_t byte_order_magic = 0x1A2B3C4D;
constexpr std::uint32_t packet_block = 2;  // obsolete, still read
constexpr std::uint32_t simple_packet_block = 3;
constexpr std::uint32_t enhanced_packet_block = 6;
constexpr std::uint32_t header_bytes = 8;  // type and length, which the length counts

std::uint32_t swap(std::uint32_t word) {
  return word >> 24U | (word >> 8U & 0xFF00U) | (word << 8U & 0xFF0000U) | word << 24U;
}

}  // namespace

std::optional<PcapngInterfaces> PcapngInterfaces::open(const std::filesystem::path& path) {
  PcapngInterfaces blocks;
  blocks.file_.reset(std::fopen(path.c_str(), "rb"));
  if (!blocks.file_) return {};
  const auto type = blocks.read_word();
  if (!type || *type != section_header) return {};
  std::rewind(blocks.file_.get());
  return blocks;
}

// In the byte order of the section.
std::optional<std::uint32_t> PcapngInterfaces::read_word() {
  std::array<unsigned char, 4> b{};
  if (std::fread(b.data(), 1, b.size(), file_.get()) != b.size()) return {};
  const std::uint32_t word = b[0] | static_cast<std::uint32_t>(b[1]) << 8U |
                             static_cast<std::uint32_t>(b[2]) << 16U |
                             static_cast<std::uint32_t>(b[3]) << 24U;
  return swapped_ ? swap(word) : word;
}

// A section header says the byte order of all that follows, its own length included.
bool PcapngInterfaces::begin_section(Block& block) {
  const auto magic = read_word();
  if (!magic) return false;
  if (*magic == swap(byte_order_magic)) {
    swapped_ = !swapped_;
    block.length = swap(block.length);
  } else if (*magic != byte_order_magic) {
    return false;
  }
  return std::fseek(file_.get(), -4, SEEK_CUR) == 0;
}

std::optional<PcapngInterfaces::Block> PcapngInterfaces::read_header() {
  const auto type = read_word();
  const auto length = read_word();
  if (!type || !length) return {};
  Block block{*type, *length};
  if (block.type == section_header && !begin_section(block)) return {};
  if (block.length < header_bytes + 4) return {};
  return block;
}

std::optional<std::uint32_t> PcapngInterfaces::next() {
  for (;;) {
    const auto block = read_header();
    if (!block) return {};
    const long start = std::ftell(file_.get()) - static_cast<long>(header_bytes);
    std::optional<std::uint32_t> found;
    if (block->type == simple_packet_block) found = 0;
    if (block->type == enhanced_packet_block) found = read_word();
    if (block->type == packet_block) {
      const auto word = read_word();
      // 16 bits of interface, 16 of drop count, in the section's order.
      if (word) found = swapped_ ? *word >> 16U : *word & 0xFFFFU;
    }
    // Blocks are padded to four bytes; a length that is not is rounded up as libpcap does.
    const long next_block = start + static_cast<long>((block->length + 3U) & ~3U);
    if (std::fseek(file_.get(), next_block, SEEK_SET) != 0) return {};
    if (found) return found;
  }
}

}  // namespace foundling
