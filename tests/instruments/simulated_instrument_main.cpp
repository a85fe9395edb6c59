// The simulated instrument as a program, to try the recorder by hand:
//   simulated_instrument [LINK]       over TCP, or over a pseudo-terminal to which LINK points
// Prints its address. Each line of its input, QUERY=ANSWER, sets an answer; its end ends it.
#include <iostream>
#include <string>

#include "tests/instruments/simulated_instrument.h"

int main(int argc, char** argv) {
  foundling::SimulatedInstrument instrument(argc > 1 ? argv[1] : "");
  std::cout << instrument.address() << std::endl;
  for (std::string line; std::getline(std::cin, line);) {
    const std::size_t mark = line.find('=');
    if (line == "silent" || line == "talk") {
      instrument.set_silent(line == "silent");
    } else if (mark != std::string::npos) {
      instrument.set_answer(line.substr(0, mark), line.substr(mark + 1));
    }
  }
  return 0;
}
