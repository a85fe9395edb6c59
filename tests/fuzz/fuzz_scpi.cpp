// What an instrument answers, and what somebody has it asked. The first byte chooses which number
// of the answer is wanted; a query that passes has nothing in it but headers that are asked.
#include <cstdlib>
#include <string_view>

#include "daemon/instruments/scpi.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace foundling;
  if (size == 0) return 0;
  const std::string_view text(reinterpret_cast<const char*>(data) + 1, size - 1);
  (void)read_answer(text, data[0] % 8 + 1);
  (void)looks_like_identity(text);
  for (const char c : printable(text)) {
    if (c < 0x20 || c > 0x7E) std::abort();
  }
  if (!fault_of_query(text).empty()) return 0;
  std::size_t part = 0;
  while (part <= text.size()) {
    const std::size_t end = text.find(';', part);
    const std::string_view alone = text.substr(part, end - part);
    if (alone.find('?') == std::string_view::npos) std::abort();
    if (alone.find_first_of("\n\r\"'(,#") != std::string_view::npos) {
      // Only blanks around a part are let through.
      if (alone.find_first_of("\n\"'(,#") != std::string_view::npos) std::abort();
    }
    if (end == std::string_view::npos) break;
    part = end + 1;
  }
  return 0;
}
