// Frames from anywhere, pcap, pcapng or CSV: any bytes are read to an end or to an error, also by
// what is guessed of another program's table; the guess is the same after its words and back.
#include <cstdlib>

#include "tests/fuzz/input_file.h"
#include "tools/exchange/frame_file.h"
#include "tools/exchange/layout/layout_guess.h"
#include "tools/exchange/layout/layout_shown.h"
#include "tools/exchange/layout/readings_layout.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto path = foundling::input_file(data, size);
  auto file = foundling::open_frame_file(path);
  while (file) {
    const auto batch = (*file)->next_batch();
    if (!batch || batch->empty()) break;
  }
  if (const auto guess = foundling::guess_frames_layout(path)) {
    const std::string words = foundling::frames_layout_words(guess->layout);
    const auto again = foundling::parse_frames_layout(words);
    if (!again || foundling::frames_layout_words(*again) != words) std::abort();
    (void)foundling::shown_guess(path, *guess);
  }
  if (const auto guess = foundling::guess_readings_layout(path)) {
    const auto again =
        foundling::parse_readings_layout(foundling::readings_layout_words(guess->layout));
    if (!again) std::abort();
    (void)foundling::shown_guess(path, *guess);
  }
  std::filesystem::remove(path);
  return 0;
}
