// foundlingd: records CAN interfaces into a capture. Messages go to stderr.
#include <malloc.h>
#include <spdlog/spdlog.h>

#include <csignal>
#include <variant>

#include "daemon/message_log.h"
#include "daemon/options.h"
#include "daemon/recording.h"

namespace {

// Left alone, the allocator keeps ever larger freed blocks for itself once large ones came and went
// (mallopt(3), M_MMAP_THRESHOLD): the recorder would hold a megabyte more after each burst. Large
// blocks go back to the system at once.
void keep_memory_flat() {
  constexpr int large = 128 * 1024;
  mallopt(M_MMAP_THRESHOLD, large);
  mallopt(M_TRIM_THRESHOLD, large);
}

}  // namespace

int main(int argc, char** argv) {
  keep_memory_flat();
  std::signal(SIGPIPE, SIG_IGN);  // losing whoever reads the messages must not stop the recording
  foundling::set_up_message_log();
  const auto options = foundling::read_options(argc, argv);
  if (const int* status = std::get_if<int>(&options)) return *status;
  const auto outcome = foundling::record(std::get<foundling::Options>(options));
  if (!outcome) {
    spdlog::error("{}", outcome.error().message);
    return 2;
  }
  return 0;
}
