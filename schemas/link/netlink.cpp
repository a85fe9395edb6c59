#include "schemas/link/netlink.h"

#include <linux/rtnetlink.h>
#include <net/if.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>

#include "schemas/link/owned_socket.h"

namespace foundling::netlink {
namespace {

template <typename T>
T at(const char* bytes) {
  T value;
  std::memcpy(&value, bytes, sizeof value);
  return value;
}

Error refused(int error_number, int* refusal) {
  if (refusal != nullptr) *refusal = error_number;
  return {ErrorCode::io, std::strerror(error_number)};
}

// What is to happen after one message of an answer.
enum class Next { more, done, refused };

Next take(std::span<const char> message, bool dump,
          const std::function<void(std::span<const char>)>& visit, int& error_number) {
  const auto header = at<nlmsghdr>(message.data());
  if (header.nlmsg_type == NLMSG_DONE) return Next::done;
  if (header.nlmsg_type == NLMSG_ERROR) {
    if (message.size() < NLMSG_LENGTH(sizeof(int))) return Next::done;
    error_number = -at<int>(message.data() + NLMSG_HDRLEN);
    return error_number == 0 ? Next::done : Next::refused;
  }
  visit(message);
  return dump ? Next::more : Next::done;
}

}  // namespace

std::span<const char> Attributes::find(unsigned type) const {
  std::span<const char> rest = bytes_;
  while (rest.size() >= sizeof(rtattr)) {
    const auto head = at<rtattr>(rest.data());
    if (head.rta_len < sizeof(rtattr) || head.rta_len > rest.size()) break;
    if ((head.rta_type & NLA_TYPE_MASK) == type) {
      return rest.subspan(sizeof(rtattr), head.rta_len - sizeof(rtattr));
    }
    rest = rest.subspan(std::min<std::size_t>(RTA_ALIGN(head.rta_len), rest.size()));
  }
  return {};
}

std::string Attributes::text(unsigned type) const {
  const auto payload = find(type);
  if (payload.empty()) return {};
  return {payload.data(), strnlen(payload.data(), payload.size())};
}

LinkRequest::LinkRequest(unsigned type, unsigned flags, unsigned index) {
  struct {
    nlmsghdr header;
    ifinfomsg link;
  } start{};
  start.header.nlmsg_type = static_cast<std::uint16_t>(type);
  start.header.nlmsg_flags = static_cast<std::uint16_t>(NLM_F_REQUEST | flags);
  start.link.ifi_family = AF_UNSPEC;
  start.link.ifi_index = static_cast<int>(index);
  bytes_.resize(sizeof start);
  std::memcpy(bytes_.data(), &start, sizeof start);
}

void LinkRequest::set_up_flag(bool up) {
  auto link = at<ifinfomsg>(bytes_.data() + NLMSG_HDRLEN);
  link.ifi_change |= IFF_UP;
  link.ifi_flags = up ? link.ifi_flags | IFF_UP : link.ifi_flags & ~unsigned{IFF_UP};
  std::memcpy(bytes_.data() + NLMSG_HDRLEN, &link, sizeof link);
}

void LinkRequest::add(unsigned type, std::span<const char> payload) {
  rtattr head{};
  head.rta_len = static_cast<unsigned short>(RTA_LENGTH(payload.size()));
  head.rta_type = static_cast<unsigned short>(type);
  const std::size_t start = bytes_.size();
  bytes_.resize(start + RTA_SPACE(payload.size()));
  std::memcpy(bytes_.data() + start, &head, sizeof head);
  if (!payload.empty()) {
    std::memcpy(bytes_.data() + start + RTA_LENGTH(0), payload.data(), payload.size());
  }
}

void LinkRequest::open_nest(unsigned type) {
  nests_.push_back(bytes_.size());
  add(type | NLA_F_NESTED, std::span<const char>());
}

void LinkRequest::close_nest() {
  const std::size_t start = nests_.back();
  nests_.pop_back();
  auto head = at<rtattr>(bytes_.data() + start);
  head.rta_len = static_cast<unsigned short>(bytes_.size() - start);
  std::memcpy(bytes_.data() + start, &head, sizeof head);
}

std::span<const char> LinkRequest::bytes() {
  auto header = at<nlmsghdr>(bytes_.data());
  header.nlmsg_len = static_cast<std::uint32_t>(bytes_.size());
  std::memcpy(bytes_.data(), &header, sizeof header);
  return bytes_;
}

Result<void> ask(LinkRequest& request, const std::function<void(std::span<const char>)>& visit,
                 int* refusal) {
  const OwnedSocket socket(AF_NETLINK, SOCK_RAW | SOCK_CLOEXEC, NETLINK_ROUTE);
  if (socket.handle() < 0) return refused(errno, refusal);
  const auto bytes = request.bytes();
  const bool dump = (at<nlmsghdr>(bytes.data()).nlmsg_flags & NLM_F_DUMP) == NLM_F_DUMP;
  if (send(socket.handle(), bytes.data(), bytes.size(), 0) < 0) return refused(errno, refusal);
  std::vector<char> answer(65536);
  for (;;) {
    const ssize_t size = recv(socket.handle(), answer.data(), answer.size(), 0);
    if (size < 0 && errno == EINTR) continue;
    if (size < 0) return refused(errno, refusal);
    std::span<const char> rest(answer.data(), static_cast<std::size_t>(size));
    while (rest.size() >= sizeof(nlmsghdr)) {
      const auto header = at<nlmsghdr>(rest.data());
      if (header.nlmsg_len < sizeof(nlmsghdr) || header.nlmsg_len > rest.size()) break;
      int error_number = 0;
      const Next next = take(rest.first(header.nlmsg_len), dump, visit, error_number);
      if (next == Next::done) return {};
      if (next == Next::refused) return refused(error_number, refusal);
      rest = rest.subspan(std::min<std::size_t>(NLMSG_ALIGN(header.nlmsg_len), rest.size()));
    }
  }
}

}  // namespace foundling::netlink
