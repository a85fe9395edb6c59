#include "tools/live/http_host.h"

#include <arpa/inet.h>
#include <netinet/in.h>

#include <algorithm>
#include <array>
#include <optional>

namespace foundling {
namespace {

std::string lower(std::string_view text) {
  std::string out(text);
  std::ranges::transform(out, out.begin(), [](char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  });
  return out;
}

// Without the port; nothing where that is another than ours.
std::optional<std::string> without_port(std::string_view host, int port) {
  std::size_t colon = host.rfind(':');
  if (host.starts_with('[')) {
    const std::size_t close = host.find(']');
    if (close == std::string_view::npos) return std::nullopt;
    colon = close + 1 < host.size() ? close + 1 : std::string_view::npos;
    if (colon != std::string_view::npos && host[colon] != ':') return std::nullopt;
    const std::string inside = lower(host.substr(1, close - 1));
    if (colon != std::string_view::npos && host.substr(colon + 1) != std::to_string(port)) {
      return std::nullopt;
    }
    return inside;
  }
  if (colon == std::string_view::npos) return lower(host);
  if (host.substr(colon + 1) != std::to_string(port)) return std::nullopt;
  return lower(host.substr(0, colon));
}

using Numeric = std::array<unsigned char, 16>;

std::optional<Numeric> numeric(const std::string& text) {
  Numeric bytes{};
  if (inet_pton(AF_INET6, text.c_str(), bytes.data()) == 1) return bytes;
  bytes = {0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0xFF, 0xFF, 0, 0, 0, 0};  // as RFC 4291, 2.5.5.2
  if (inet_pton(AF_INET, text.c_str(), bytes.data() + 12) == 1) return bytes;
  return std::nullopt;
}

}  // namespace

bool is_named(const ServedPlace& place, std::string_view host) {
  const auto name = without_port(host, place.port);
  if (!name || name->empty()) return false;
  if (const auto number = numeric(*name)) {
    return place.everywhere || number == numeric(place.address);
  }
  const std::string machine = lower(place.machine);
  const bool is_machine = !machine.empty() && (*name == machine || *name == machine + ".local");
  const bool was_given = std::ranges::any_of(
      place.further, [&name](const std::string& one) { return lower(one) == *name; });
  return *name == "localhost" || is_machine || was_given;
}

}  // namespace foundling
