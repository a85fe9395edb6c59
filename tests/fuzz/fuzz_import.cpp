// Frames from anywhere, pcap, pcapng or CSV: any bytes are read to an end or to an error.
#include "tests/fuzz/input_file.h"
#include "tools/exchange/frame_file.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto path = foundling::input_file(data, size);
  auto file = foundling::open_frame_file(path);
  while (file) {
    const auto batch = (*file)->next_batch();
    if (!batch || batch->empty()) break;
  }
  std::filesystem::remove(path);
  return 0;
}
