// Questions and orders to the kernel about network interfaces: route netlink (rtnetlink(7)), over
// libmnl. One request at a time; every reply is read whole before the call returns.
#pragma once

#include <libmnl/libmnl.h>

#include <cstdint>
#include <functional>
#include <span>
#include <string>
#include <vector>

#include "schemas/values/result.h"

namespace foundling::netlink {

// Attributes one behind the other, as they lie in a message (linux/rtnetlink.h).
class Attributes {
 public:
  explicit Attributes(std::span<const char> bytes = {}) : bytes_(bytes) {}

  [[nodiscard]] std::span<const char> find(unsigned type) const;  // its payload; empty: none
  [[nodiscard]] Attributes nested(unsigned type) const { return Attributes(find(type)); }
  [[nodiscard]] std::string text(unsigned type) const;  // up to its zero byte

 private:
  std::span<const char> bytes_;
};

// A message about one link, put together piece by piece.
class LinkRequest {
 public:
  // `type`: RTM_GETLINK or RTM_NEWLINK. index 0: all links.
  LinkRequest(unsigned type, unsigned flags, unsigned index);
  LinkRequest(const LinkRequest&) = delete;
  LinkRequest& operator=(const LinkRequest&) = delete;
  ~LinkRequest() = default;

  void add(unsigned type, std::span<const char> payload);
  template <typename T>
  void add(unsigned type, const T& value) {
    add(type, std::span<const char>(reinterpret_cast<const char*>(&value), sizeof value));
  }
  void open_nest(unsigned type);
  void close_nest();
  [[nodiscard]] const nlmsghdr& header() const { return *header_; }
  [[nodiscard]] std::span<const char> bytes() const;

 private:
  std::vector<char> buffer_;
  nlmsghdr* header_;
  std::vector<nlattr*> nests_;
};

// Sends the request and hands every answering message (with its header) to `visit`. The kernel's
// refusal is an Error with the errno in words; its number is in `refusal` where given.
Result<void> ask(const LinkRequest& request,
                 const std::function<void(std::span<const char>)>& visit, int* refusal = nullptr);

}  // namespace foundling::netlink
