#include "daemon/socket_source.h"

#include <linux/can.h>
#include <linux/can/error.h>
#include <linux/can/raw.h>
#include <linux/net_tstamp.h>
#include <linux/sock_diag.h>
#include <net/if.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>

#include "daemon/socket_message.h"

namespace foundling {
namespace {

constexpr std::size_t batch = 128;
// What one queued frame costs of the buffer: measured on Linux 6.1.
constexpr std::size_t bytes_a_frame = 768;

std::string words(int error_number) { return std::strerror(error_number); }

template <typename T>
bool set_option(int socket, int level, int option, const T& value) {
  return setsockopt(socket, level, option, &value, sizeof value) == 0;
}

SourceState state_of(int error_number) {
  if (error_number == ENETDOWN) return SourceState::down;
  if (error_number == ENODEV || error_number == ENXIO) return SourceState::gone;
  return SourceState::broken;
}

}  // namespace

// One buffer of each kind a message of a batch.
struct SocketSource::Buffers {
  struct alignas(cmsghdr) Control {
    std::array<unsigned char, 192> bytes;
  };
  std::array<canfd_frame, batch> frames{};
  std::array<Control, batch> controls{};
  std::array<iovec, batch> pieces{};
  std::array<mmsghdr, batch> messages{};

  void prepare(std::size_t count) {
    for (std::size_t i = 0; i < count; ++i) {
      pieces[i] = {&frames[i], sizeof frames[i]};
      msghdr& header = messages[i].msg_hdr;
      header = {};
      header.msg_iov = &pieces[i];
      header.msg_iovlen = 1;
      header.msg_control = controls[i].bytes.data();
      header.msg_controllen = controls[i].bytes.size();
    }
  }
};

Result<std::unique_ptr<FrameSource>> SocketSource::open(const std::string& interface,
                                                        int buffer_bytes) {
  const int socket = ::socket(PF_CAN, SOCK_RAW | SOCK_CLOEXEC | SOCK_NONBLOCK, CAN_RAW);
  if (socket < 0) {
    if (errno == EAFNOSUPPORT || errno == EPROTONOSUPPORT) {
      return Error{ErrorCode::io,
                   "this kernel offers no CAN sockets (modules can and can-raw): " + words(errno)};
    }
    return Error{ErrorCode::io, "cannot open a CAN socket: " + words(errno)};
  }
  std::unique_ptr<SocketSource> source(new SocketSource(socket));
  if (auto ready = source->set_up(interface, buffer_bytes); !ready) return ready.error();
  return std::unique_ptr<FrameSource>(std::move(source));
}

SocketSource::SocketSource(int socket) : socket_(socket), buffers_(std::make_unique<Buffers>()) {}

SocketSource::~SocketSource() { close(socket_); }

// Everything is set before the bind, so that no frame comes without stamp and counter.
Result<void> SocketSource::set_up(const std::string& interface, int buffer_bytes) {
  const int on = 1;
  const can_err_mask_t every_error = CAN_ERR_MASK;
  if (!set_option(socket_, SOL_SOCKET, SO_RCVBUFFORCE, buffer_bytes)) {
    set_option(socket_, SOL_SOCKET, SO_RCVBUF, buffer_bytes);
  }
  if (!set_option(socket_, SOL_SOCKET, SO_TIMESTAMPNS, on) ||
      !set_option(socket_, SOL_SOCKET, SO_RXQ_OVFL, on) ||
      !set_option(socket_, SOL_CAN_RAW, CAN_RAW_ERR_FILTER, every_error) ||
      !set_option(socket_, SOL_CAN_RAW, CAN_RAW_FD_FRAMES, on)) {
    return Error{ErrorCode::io, interface + ": cannot set up the CAN socket: " + words(errno)};
  }
  // The adapter's own stamps where it has them; without, the kernel's are all there is.
  const int hardware_stamps = SOF_TIMESTAMPING_RX_HARDWARE | SOF_TIMESTAMPING_RAW_HARDWARE;
  set_option(socket_, SOL_SOCKET, SO_TIMESTAMPING, hardware_stamps);
  index_ = if_nametoindex(interface.c_str());
  if (index_ == 0) {
    return Error{ErrorCode::not_found, "there is no interface \"" + interface + "\""};
  }
  sockaddr_can address{};
  address.can_family = AF_CAN;
  address.can_ifindex = static_cast<int>(index_);
  if (bind(socket_, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0) {
    return Error{ErrorCode::io, interface + ": cannot listen: " + words(errno)};
  }
  return {};
}

ReadOutcome SocketSource::read(std::span<Arrival> into) {
  const std::size_t wanted = std::min(into.size(), batch);
  buffers_->prepare(wanted);
  const int received = recvmmsg(socket_, buffers_->messages.data(), static_cast<unsigned>(wanted),
                                MSG_DONTWAIT, nullptr);
  if (received < 0) {
    if (errno == EAGAIN || errno == EINTR) return {};
    return {0, state_of(errno), words(errno)};
  }
  ReadOutcome outcome;
  for (std::size_t i = 0; i < static_cast<std::size_t>(received); ++i) {
    const mmsghdr& message = buffers_->messages[i];
    if (auto arrival = read_message(message.msg_hdr, message.msg_len)) {
      into[outcome.count++] = *arrival;
    }
  }
  return outcome;
}

std::optional<std::uint32_t> SocketSource::drop_counter() {
  std::array<std::uint32_t, SK_MEMINFO_VARS> memory{};
  socklen_t size = sizeof memory;
  if (getsockopt(socket_, SOL_SOCKET, SO_MEMINFO, memory.data(), &size) != 0) return {};
  if (size <= SK_MEMINFO_DROPS * sizeof(std::uint32_t)) return {};
  return memory[SK_MEMINFO_DROPS];
}

std::size_t frames_buffered(const FrameSource& source) {
  int bytes = 0;
  socklen_t size = sizeof bytes;
  if (getsockopt(source.descriptor(), SOL_SOCKET, SO_RCVBUF, &bytes, &size) != 0) return 0;
  return static_cast<std::size_t>(bytes) / bytes_a_frame;
}

}  // namespace foundling
