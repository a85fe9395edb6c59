// A damaged or hostile capture: any bytes are read to an end or to an error.
#include "tests/capture/read_everything.h"
#include "tests/fuzz/cpu_budget.h"
#include "tests/fuzz/input_file.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace foundling;
  within_cpu_budget([&] {
    const auto path = input_file(data, size);
    auto reader = CaptureReader::open(path);
    if (reader) test::read_everything(*reader);
    std::filesystem::remove(path);
  });
  return 0;
}
