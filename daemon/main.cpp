// foundlingd: records CAN interfaces into a capture. Messages go to stderr.
#include <spdlog/sinks/stdout_color_sinks.h>
#include <spdlog/spdlog.h>

#include <csignal>
#include <variant>

#include "daemon/options.h"
#include "daemon/recording.h"

int main(int argc, char** argv) {
  std::signal(SIGPIPE, SIG_IGN);  // losing whoever reads the messages must not stop the recording
  spdlog::set_default_logger(spdlog::stderr_color_mt("foundlingd"));
  spdlog::set_pattern("%Y-%m-%d %H:%M:%S %n: %^%l%$: %v");
  const auto options = foundling::read_options(argc, argv);
  if (const int* status = std::get_if<int>(&options)) return *status;
  const auto outcome = foundling::record(std::get<foundling::Options>(options));
  if (!outcome) {
    spdlog::error("{}", outcome.error().message);
    return 2;
  }
  return 0;
}
