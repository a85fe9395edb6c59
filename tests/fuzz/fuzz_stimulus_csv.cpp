// Stimulus CSV: any bytes are read to an end or to an error; what was read is written and read
// again to the same.
#include <cstdlib>
#include <string>

#include "tests/fuzz/input_file.h"
#include "tools/exchange/stimulus_csv.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace foundling;
  auto path = input_file(data, size);
  const auto first = read_stimulus_csv(path);
  if (first) {
    std::string text;
    append_stimulus_csv(text, first->channels, 0);
    path = input_file(reinterpret_cast<const std::uint8_t*>(text.data()), text.size());
    const auto second = read_stimulus_csv(path);
    std::string again;
    if (second) append_stimulus_csv(again, second->channels, 0);
    if (again.size() != text.size()) std::abort();
  }
  std::filesystem::remove(path);
  return 0;
}
