// The map's text as an outsider may hand it in: it is reported or read, and what was read formats
// to a fixed point. Lines of "=======" part an input into up to three maps, which are merged and
// compared. Checked beside the crash that a sanitizer would find.
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <string_view>
#include <vector>

#include "decoder/decode/decode.h"
#include "schemas/signals/format.h"
#include "schemas/signals/merge.h"
#include "schemas/signals/merge_maps.h"
#include "schemas/signals/read.h"
#include "tests/fuzz/cpu_budget.h"

namespace {

using namespace foundling;

std::vector<std::string_view> maps_in(std::string_view text) {
  constexpr std::string_view border = "\n=======\n";
  std::vector<std::string_view> maps;
  while (maps.size() < 2) {
    const auto end = text.find(border);
    if (end == std::string_view::npos) break;
    maps.push_back(text.substr(0, end));
    text.remove_prefix(end + border.size());
  }
  maps.push_back(text);
  return maps;
}

void require(bool holds) {
  if (!holds) std::abort();
}

void require_fixed_point(const Document& document) {
  const std::string once = format(document);
  const SignalText again = read_signals(once);
  require(again.ok());
  require(again.document == document);
  require(format(again.document) == once);
}

void decode_with(const SignalMap& map, std::size_t length) {
  Decoder decoder(map);
  for (const MessageEntry& message : map.messages) {
    Frame frame;
    frame.id = message.id;
    frame.bus = message.bus;
    frame.length = static_cast<std::uint8_t>(length % 65);
    (void)decoder.decode(frame);
  }
}

void merge(const std::vector<SignalText>& maps) {
  const Document nothing;
  const Document& first = maps.front().document;
  const Document& second = maps.back().document;
  require_fixed_point(merge_findings(first, maps.back().map).document);
  require_fixed_point(merge_maps(nothing, first, second).document);
  if (maps.size() == 3) require_fixed_point(merge_maps(maps[1].document, first, second).document);
  require(merge_maps(first, first, second).document == second);
  require(merge_maps(first, second, first).document == second);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  within_cpu_budget([&] {
    // NOLINTNEXTLINE(cppcoreguidelines-pro-type-reinterpret-cast): bytes are what a file has
    const std::string_view input(reinterpret_cast<const char*>(data), size);
    std::vector<SignalText> maps;
    for (const std::string_view text : maps_in(input)) {
      maps.push_back(read_signals(text));
      (void)describe(maps.back().diagnostics, "fuzz", text);
      if (!maps.back().ok()) return;
      require_fixed_point(maps.back().document);
      decode_with(maps.back().map, size);
    }
    // With few signals only: each attempt of a merge verifies the whole map.
    if (size < 4000) merge(maps);
  });
  return 0;
}
