#include "tools/live_options.h"

#include <arpa/inet.h>
#include <netinet/in.h>

#include <charconv>
#include <cstdlib>

#include "tools/text_file.h"

namespace foundling {
namespace {

std::optional<int> port_number(const std::string& text) {
  int port = 0;
  const auto read = std::from_chars(text.data(), text.data() + text.size(), port);
  if (read.ec != std::errc{} || read.ptr != text.data() + text.size()) return {};
  return port < 0 || port > 65535 ? std::optional<int>{} : port;
}

Error not_understood(const std::string& option, const std::string& text, const char* wanted) {
  return {ErrorCode::usage, option + ": expected " + wanted + ", found '" + text + '\''};
}

}  // namespace

Result<HostAndPort> parse_host_and_port(const std::string& text, int default_port,
                                        const std::string& option) {
  constexpr const char* wanted = "HOST, HOST:PORT or [ADDRESS]:PORT";
  HostAndPort out{text, default_port};
  std::string port;
  if (!text.empty() && text.front() == '[') {
    const std::size_t close = text.find(']');
    if (close == std::string::npos) return not_understood(option, text, wanted);
    out.host = text.substr(1, close - 1);
    const std::string rest = text.substr(close + 1);
    if (!rest.empty() && rest.front() != ':') return not_understood(option, text, wanted);
    if (!rest.empty()) port = rest.substr(1);
    if (!rest.empty() && port.empty()) return not_understood(option, text, wanted);
  } else if (const std::size_t colon = text.find(':');
             colon != std::string::npos && text.find(':', colon + 1) == std::string::npos) {
    out.host = text.substr(0, colon);
    port = text.substr(colon + 1);
    if (port.empty()) return not_understood(option, text, wanted);
  }
  if (!port.empty()) {
    const auto number = port_number(port);
    if (!number || *number == 0) return not_understood(option, text, "a port from 1 to 65535");
    out.port = *number;
  }
  if (out.host.empty()) return not_understood(option, text, wanted);
  return out;
}

Result<HostAndPort> parse_listen_address(const std::string& text, const std::string& option) {
  if (const auto port = port_number(text)) return HostAndPort{"127.0.0.1", *port};
  if (text.find(':') == std::string::npos) {
    return not_understood(option, text, "PORT or ADDRESS:PORT");
  }
  auto parsed = parse_host_and_port(text, 0, option);
  if (parsed && parsed->port == 0) return not_understood(option, text, "ADDRESS:PORT");
  return parsed;
}

bool is_this_machine(const std::string& host) {
  in_addr four{};
  in6_addr six{};
  if (inet_pton(AF_INET, host.c_str(), &four) == 1) return (ntohl(four.s_addr) >> 24U) == 127;
  if (inet_pton(AF_INET6, host.c_str(), &six) == 1) return IN6_IS_ADDR_LOOPBACK(&six);
  return host == "localhost";
}

Result<std::optional<std::string>> fetch_password(const std::string& file) {
  if (!file.empty()) {
    const auto text = read_text_file(file);
    if (!text) return text.error();
    const std::string line = text->substr(0, text->find_first_of("\r\n"));
    if (line.empty()) return Error{ErrorCode::format, file + ":1: expected a password"};
    return std::optional<std::string>(line);
  }
  const char* kept = std::getenv("FOUNDLING_MQTT_PASSWORD");
  return kept == nullptr ? std::optional<std::string>{} : std::optional<std::string>(kept);
}

Result<void> check_certificates(const std::string& file) {
  const auto text = read_text_file(file);
  if (!text) return text.error();
  if (text->find("-----BEGIN CERTIFICATE-----") != std::string::npos) return {};
  return Error{ErrorCode::format, file + ": expected certificates (BEGIN CERTIFICATE), found none"};
}

}  // namespace foundling
