#include "daemon/instruments/usbtmc_line.h"

#include <fcntl.h>
#include <linux/usb/tmc.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdint>
#include <cstring>

namespace foundling {

Result<std::unique_ptr<InstrumentLine>> UsbtmcLine::open(const std::string& path) {
  const int file = ::open(path.c_str(), O_RDWR | O_CLOEXEC);
  if (file < 0) return Error{ErrorCode::io, path + ": " + std::strerror(errno)};
  return std::unique_ptr<InstrumentLine>(std::make_unique<UsbtmcLine>(file));
}

UsbtmcLine::~UsbtmcLine() { close(descriptor_); }

void UsbtmcLine::set_timeout(Deadline until) const {
  constexpr std::int64_t least_ms = 100;  // the driver takes no less
  const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(
      until - std::chrono::steady_clock::now());
  auto timeout = static_cast<std::uint32_t>(std::max<std::int64_t>(left.count(), least_ms));
  ioctl(descriptor_, USBTMC_IOCTL_SET_TIMEOUT, &timeout);
}

// After a transfer that came to nothing both ends forget what is half done.
Error UsbtmcLine::fault(int error) const {
  if (error != ETIMEDOUT && error != EAGAIN && error != EINTR) {
    return {ErrorCode::io, std::strerror(error)};
  }
  ioctl(descriptor_, USBTMC_IOCTL_CLEAR);
  return {ErrorCode::busy, "no answer"};
}

Result<void> UsbtmcLine::send(std::string_view text, Deadline until) {
  set_timeout(until);
  const ssize_t sent = write(descriptor_, text.data(), text.size());
  if (sent < 0) return fault(errno);
  if (static_cast<std::size_t>(sent) == text.size()) return {};
  return Error{ErrorCode::busy, "takes no query"};
}

Result<std::string> UsbtmcLine::receive(Deadline until) {
  set_timeout(until);
  std::array<char, longest_answer> buffer{};
  const ssize_t count = read(descriptor_, buffer.data(), buffer.size());
  if (count < 0) return fault(errno);
  if (count == 0) return Error{ErrorCode::io, "the device is gone"};
  if (static_cast<std::size_t>(count) == buffer.size()) {
    return Error{ErrorCode::format, "sends more than any answer holds"};
  }
  std::string line(buffer.data(), static_cast<std::size_t>(count));
  while (!line.empty() && static_cast<unsigned char>(line.back()) <= ' ') line.pop_back();
  return line;
}

}  // namespace foundling
