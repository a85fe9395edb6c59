// The map's text as an outsider may hand it in: it is reported or read, and what was read formats
// to a fixed point. Checked beside the crash that a sanitizer would find.
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <string_view>

#include "decoder/decode/decode.h"
#include "schemas/signals/format.h"
#include "schemas/signals/merge.h"
#include "schemas/signals/read.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace foundling;
  // NOLINTNEXTLINE(cppcoreguidelines-pro-type-reinterpret-cast): bytes are what a file has
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const SignalText read = read_signals(text);
  (void)describe(read.diagnostics, "fuzz", text);
  if (!read.ok()) return 0;
  const std::string once = format(read.document);
  const SignalText again = read_signals(once);
  if (!again.ok() || !(again.document == read.document) || !(again.map == read.map)) std::abort();
  if (format(again.document) != once) std::abort();
  Decoder decoder(read.map);
  for (const MessageEntry& message : read.map.messages) {
    Frame frame;
    frame.id = message.id;
    frame.bus = message.bus;
    frame.length = static_cast<std::uint8_t>(size % 65);
    (void)decoder.decode(frame);
  }
  // With few signals only: each attempt of the merge verifies the whole map.
  if (size < 2000 && !read_signals(format(merge_findings(read.document, read.map).document)).ok()) {
    std::abort();
  }
  return 0;
}
