#include "tools/exchange/report_error.h"

#include <iostream>

#include "tools/command.h"

namespace foundling {

int report_error(std::string_view command, const Error& error) {
  // A message with a place in a text names that file first, as compilers do.
  if (error.message.find(": error: ") == std::string::npos) {
    std::cerr << "foundling " << command << ": error: ";
  }
  std::cerr << error.message << '\n';
  return exit_trouble;
}

}  // namespace foundling
