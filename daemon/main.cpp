// foundlingd: records CAN interfaces into a capture. Messages go to stderr.
#include <spdlog/spdlog.h>

#include <csignal>
#include <variant>

#include "daemon/message_log.h"
#include "daemon/options.h"
#include "daemon/recording.h"

int main(int argc, char** argv) {
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
