#include "tools/can_interface.h"

#include <linux/rtnetlink.h>
#include <net/if.h>
#include <net/if_arp.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>

namespace foundling {
namespace {

class Socket {
 public:
  explicit Socket(int handle) : handle_(handle) {}
  Socket(const Socket&) = delete;
  Socket& operator=(const Socket&) = delete;
  ~Socket() {
    if (handle_ >= 0) close(handle_);
  }
  [[nodiscard]] int handle() const { return handle_; }

 private:
  int handle_;
};

Error kernel_error(const std::string& name) {
  return {ErrorCode::io, name + ": the kernel does not describe it: " + std::strerror(errno)};
}

// The kernel's answer to "tell me of this link": one netlink message.
Result<std::size_t> ask_for_link(const std::string& name, unsigned index,
                                 std::array<char, 16384>& answer) {
  const Socket socket(::socket(AF_NETLINK, SOCK_RAW | SOCK_CLOEXEC, NETLINK_ROUTE));
  if (socket.handle() < 0) return kernel_error(name);
  struct {
    nlmsghdr header;
    ifinfomsg link;
  } question{};
  question.header.nlmsg_len = sizeof question;
  question.header.nlmsg_type = RTM_GETLINK;
  question.header.nlmsg_flags = NLM_F_REQUEST;
  question.link.ifi_family = AF_UNSPEC;
  question.link.ifi_index = static_cast<int>(index);
  if (send(socket.handle(), &question, sizeof question, 0) < 0) return kernel_error(name);
  const ssize_t size = recv(socket.handle(), answer.data(), answer.size(), 0);
  if (size < 0) return kernel_error(name);
  return static_cast<std::size_t>(size);
}

template <typename T>
T at(const char* bytes) {
  T value;
  std::memcpy(&value, bytes, sizeof value);
  return value;
}

// The payload of the attribute of this type among those in [from, to), as text up to its zero byte
// or, nested, as bytes; empty when there is none.
struct Bytes {
  const char* from = nullptr;
  const char* to = nullptr;
};
Bytes find_attribute(Bytes attributes, unsigned type) {
  const char* here = attributes.from;
  while (attributes.to - here >= static_cast<std::ptrdiff_t>(sizeof(rtattr))) {
    const auto head = at<rtattr>(here);
    if (head.rta_len < sizeof(rtattr) || here + head.rta_len > attributes.to) break;
    if ((head.rta_type & NLA_TYPE_MASK) == type) {
      return {here + sizeof(rtattr), here + head.rta_len};
    }
    here += RTA_ALIGN(head.rta_len);
  }
  return {};
}

std::string link_kind(Bytes attributes) {
  const Bytes info = find_attribute(attributes, IFLA_LINKINFO);
  const Bytes kind = find_attribute(info, IFLA_INFO_KIND);
  if (kind.from == nullptr) return {};
  return {kind.from, strnlen(kind.from, static_cast<std::size_t>(kind.to - kind.from))};
}

}  // namespace

Result<CanInterface> find_can_interface(const std::string& name) {
  CanInterface found;
  found.name = name;
  found.index = if_nametoindex(name.c_str());
  if (found.index == 0) {
    return Error{ErrorCode::not_found, name + ": there is no network interface of this name"};
  }
  std::array<char, 16384> answer{};
  const auto size = ask_for_link(name, found.index, answer);
  if (!size) return size.error();
  constexpr std::size_t heads = NLMSG_LENGTH(sizeof(ifinfomsg));
  if (*size < heads || at<nlmsghdr>(answer.data()).nlmsg_type != RTM_NEWLINK) {
    return Error{ErrorCode::io, name + ": the kernel's description of it cannot be read"};
  }
  const auto link = at<ifinfomsg>(answer.data() + NLMSG_HDRLEN);
  if (link.ifi_type != ARPHRD_CAN) {
    return Error{ErrorCode::usage, name + ": is not a CAN interface"};
  }
  found.up = (link.ifi_flags & IFF_UP) != 0;
  found.kind = link_kind({answer.data() + NLMSG_ALIGN(heads), answer.data() + *size});
  return found;
}

}  // namespace foundling
