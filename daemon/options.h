// What foundlingd is told on its command line.
#pragma once

#include <filesystem>
#include <string>
#include <variant>
#include <vector>

namespace foundling {

struct Options {
  std::vector<std::string> interfaces;  // bus 0, 1, ... in this order
  std::filesystem::path capture;
  std::string pack, board, note;
  long long bit_rate = 0;       // 0: not known; a note in the session, the bus is not set up
  long long data_bit_rate = 0;  // of the FD data phase
  int socket_buffer_kib = 8192;
};

// The options, or the exit status if there is nothing to do: help was shown (0), or the words were
// not understood and stderr says so (2).
[[nodiscard]] std::variant<Options, int> read_options(int argc, const char* const* argv);

}  // namespace foundling
