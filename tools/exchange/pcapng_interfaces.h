// Which interface each packet of a pcapng file came from. libpcap reads such files but does not
// tell; this walks the same blocks beside it, one packet at a time.
// Spec: IETF draft-ietf-opsawg-pcapng, block types and section byte order.
#pragma once

#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <memory>
#include <optional>

namespace foundling {

class PcapngInterfaces {
 public:
  // Nothing when the file cannot be opened or is not pcapng.
  static std::optional<PcapngInterfaces> open(const std::filesystem::path& path);

  // The interface of the next packet, from 0 within its section; nothing where the file ends or is
  // damaged (libpcap then has the message).
  std::optional<std::uint32_t> next();

 private:
  struct Close {
    void operator()(std::FILE* file) const { std::fclose(file); }
  };
  struct Block {
    std::uint32_t type, length;
  };
  std::optional<Block> read_header();
  std::optional<std::uint32_t> read_word();
  bool begin_section(Block& block);

  std::unique_ptr<std::FILE, Close> file_;
  bool swapped_ = false;
};

}  // namespace foundling
