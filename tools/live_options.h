// What `foundling live` was told on the command line, made ready: addresses taken apart, passwords
// fetched from where they are kept.
#pragma once

#include <optional>
#include <string>

#include "schemas/values/result.h"

namespace foundling {

struct HostAndPort {
  std::string host;
  int port = 0;
};

// "host", "host:1883", "[::1]:1883", "::1"; `option` is named in the error.
[[nodiscard]] Result<HostAndPort> parse_host_and_port(const std::string& text, int default_port,
                                                      const std::string& option);
// "9188" on loopback, or an address before the port: "0.0.0.0:9188", "[::]:9188".
[[nodiscard]] Result<HostAndPort> parse_listen_address(const std::string& text,
                                                       const std::string& option);

// localhost and the loopback addresses: what goes there passes no network.
[[nodiscard]] bool is_this_machine(const std::string& host);

// The first line of the file, else the variable FOUNDLING_MQTT_PASSWORD, else nothing. Never from
// the command line, which every user of the machine can read.
[[nodiscard]] Result<std::optional<std::string>> fetch_password(const std::string& file);

// An error unless the file holds certificates in the textual form of RFC 7468. libmosquitto would
// find out only when it connects, and not say what is wrong.
[[nodiscard]] Result<void> check_certificates(const std::string& file);

}  // namespace foundling
