// What foundlingd is told on its command line and in its configuration file.
#pragma once

#include <chrono>
#include <filesystem>
#include <string>
#include <variant>
#include <vector>

#include "daemon/file_policy.h"
#include "daemon/instruments/instrument_settings.h"

namespace foundling {

struct Options {
  std::vector<std::string> interfaces;  // bus 0, 1, ... in this order
  std::filesystem::path capture;
  std::string pack, board, note;
  long long bit_rate = 0;       // 0: not known; a note in the session, the bus is not set up
  long long data_bit_rate = 0;  // of the FD data phase
  int socket_buffer_kib = 8192;
  // A controller that left the bus is restarted so long after; 0: never.
  double restart_after_s = 1;
  int roll_mib = 0;       // size at which a new file is begun; 0: never
  double roll_hours = 0;  // age at which a new file is begun; 0: never
  int keep_files = 0;     // 0: all
  int disk_reserve_mib = 64;
  std::vector<InstrumentSettings> instruments;  // from the configuration file only
  std::filesystem::path config;  // the file that some of this was read from; empty: none
  bool check_config = false;     // look at the configuration only

  [[nodiscard]] FilePolicy file_policy() const;
};

// The options, or the exit status if there is nothing to do: help was shown (0), or the words were
// not understood and stderr says so (2).
[[nodiscard]] std::variant<Options, int> read_options(int argc, const char* const* argv);

}  // namespace foundling
