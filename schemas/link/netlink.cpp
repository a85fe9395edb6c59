#include "schemas/link/netlink.h"

#include <linux/rtnetlink.h>
#include <sys/socket.h>

#include <cerrno>
#include <cstring>
#include <memory>

namespace foundling::netlink {
namespace {

constexpr std::size_t most_request_bytes = 1024;  // ours take some 200
// The kernel fills up to 32 KiB at a time (NLMSG_GOODSIZE, af_netlink.c), and no more than fits.
constexpr std::size_t most_answer_bytes = 65536;
constexpr int most_tries = 5;  // where interfaces come and go while they are listed

struct Close {
  void operator()(mnl_socket* socket) const { mnl_socket_close(socket); }
};
using Socket = std::unique_ptr<mnl_socket, Close>;

using Messages = std::vector<std::vector<char>>;

Error refused(int error_number, int* refusal) {
  if (refusal != nullptr) *refusal = error_number;
  return {ErrorCode::io, std::strerror(error_number)};
}

int keep(const nlmsghdr* message, void* kept) {
  const auto* const bytes = reinterpret_cast<const char*>(message);
  static_cast<Messages*>(kept)->emplace_back(bytes, bytes + message->nlmsg_len);
  return (message->nlmsg_flags & NLM_F_MULTI) != 0 ? MNL_CB_OK : MNL_CB_STOP;
}

// 0, or the errno; EINTR where the list changed while it was read.
int ask_once(const LinkRequest& request, Messages& answers) {
  const Socket socket(mnl_socket_open2(NETLINK_ROUTE, SOCK_CLOEXEC));
  if (!socket || mnl_socket_bind(socket.get(), 0, MNL_SOCKET_AUTOPID) < 0) return errno;
  const auto bytes = request.bytes();
  if (mnl_socket_sendto(socket.get(), bytes.data(), bytes.size()) < 0) return errno;
  std::vector<char> answer(most_answer_bytes);
  for (;;) {
    const ssize_t size = mnl_socket_recvfrom(socket.get(), answer.data(), answer.size());
    if (size < 0 && errno == EINTR) continue;
    if (size < 0) return errno;
    const int next =
        mnl_cb_run(answer.data(), static_cast<std::size_t>(size), request.header().nlmsg_seq,
                   mnl_socket_get_portid(socket.get()), keep, &answers);
    if (next < MNL_CB_STOP) return errno;
    if (next == MNL_CB_STOP) return 0;
  }
}

}  // namespace

std::span<const char> Attributes::find(unsigned type) const {
  const auto* attribute = reinterpret_cast<const nlattr*>(bytes_.data());
  const char* const end = bytes_.data() + bytes_.size();
  const auto left = [&] {
    return static_cast<int>(end - reinterpret_cast<const char*>(attribute));
  };
  for (; left() > 0 && mnl_attr_ok(attribute, left()); attribute = mnl_attr_next(attribute)) {
    if (mnl_attr_get_type(attribute) != type) continue;
    return {static_cast<const char*>(mnl_attr_get_payload(attribute)),
            mnl_attr_get_payload_len(attribute)};
  }
  return {};
}

std::string Attributes::text(unsigned type) const {
  const auto payload = find(type);
  if (payload.empty()) return {};
  return {payload.data(), strnlen(payload.data(), payload.size())};
}

LinkRequest::LinkRequest(unsigned type, unsigned flags, unsigned index)
    : buffer_(most_request_bytes), header_(mnl_nlmsg_put_header(buffer_.data())) {
  header_->nlmsg_type = static_cast<std::uint16_t>(type);
  header_->nlmsg_flags = static_cast<std::uint16_t>(NLM_F_REQUEST | flags);
  header_->nlmsg_seq = 1;
  auto* const link =
      static_cast<ifinfomsg*>(mnl_nlmsg_put_extra_header(header_, sizeof(ifinfomsg)));
  link->ifi_family = AF_UNSPEC;
  link->ifi_index = static_cast<int>(index);
}

void LinkRequest::add(unsigned type, std::span<const char> payload) {
  mnl_attr_put(header_, static_cast<std::uint16_t>(type), payload.size(), payload.data());
}

void LinkRequest::open_nest(unsigned type) {
  nests_.push_back(mnl_attr_nest_start(header_, static_cast<std::uint16_t>(type)));
}

void LinkRequest::close_nest() {
  mnl_attr_nest_end(header_, nests_.back());
  nests_.pop_back();
}

std::span<const char> LinkRequest::bytes() const { return {buffer_.data(), header_->nlmsg_len}; }

Result<void> ask(const LinkRequest& request,
                 const std::function<void(std::span<const char>)>& visit, int* refusal) {
  Messages answers;
  int error_number = EINTR;
  for (int tries = 0; tries < most_tries && error_number == EINTR; ++tries) {
    answers.clear();
    error_number = ask_once(request, answers);
  }
  if (error_number != 0) return refused(error_number, refusal);
  for (const std::vector<char>& message : answers) visit(message);
  return {};
}

}  // namespace foundling::netlink
