// Whether a request's Host field (RFC 9110, 7.2) names the place where we listen. A browser sends
// the name of the page that asks: under another name than ours, somebody else's page is asking.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace foundling {

struct ServedPlace {
  std::string address;      // numeric, as bound
  std::string machine;      // this machine's name
  bool everywhere = false;  // bound to all of its addresses
  int port = 0;
  std::vector<std::string> further;  // names that a person gave
};

// The address itself, localhost, the machine's name, alone or with .local, and what was given;
// where we listen on all addresses, any numeric one, for a number is no name that could have been
// turned to us. The port may be left out.
[[nodiscard]] bool is_named(const ServedPlace& place, std::string_view host);

}  // namespace foundling
