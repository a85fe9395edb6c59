// A damaged or hostile capture: any bytes are read to an end or to an error.
#include "schemas/capture/capture_reader.h"
#include "tests/fuzz/cpu_budget.h"
#include "tests/fuzz/input_file.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace foundling;
  within_cpu_budget([&] {
    const auto path = input_file(data, size);
    auto reader = CaptureReader::open(path);
    if (reader) {
      (void)reader->sessions();
      (void)reader->load(1);
      (void)reader->readings(1);
      (void)reader->events(1);
      (void)reader->gaps(1);
      (void)reader->clock_marks(1);
      (void)reader->health(1);
    }
    std::filesystem::remove(path);
  });
  return 0;
}
