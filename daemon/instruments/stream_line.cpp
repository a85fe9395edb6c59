#include "daemon/instruments/stream_line.h"

#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstring>

namespace foundling {
namespace {

Error gone(const std::string& why) { return {ErrorCode::io, why}; }

}  // namespace

StreamLine::~StreamLine() { close(descriptor_); }

Result<void> StreamLine::send(std::string_view text, Deadline until) {
  while (!text.empty()) {
    // A socket that the other end closed must not end the recorder by a signal.
    ssize_t sent = ::send(descriptor_, text.data(), text.size(), MSG_NOSIGNAL);
    if (sent < 0 && errno == ENOTSOCK) sent = write(descriptor_, text.data(), text.size());
    if (sent > 0) {
      text.remove_prefix(static_cast<std::size_t>(sent));
    } else if (errno == EAGAIN) {
      if (stop_.wait_for(descriptor_, true, until) != StopSign::Ready::yes) {
        return Error{ErrorCode::busy, "takes no query"};
      }
    } else if (errno != EINTR) {
      return gone(std::strerror(errno));
    }
  }
  return {};
}

// All that is there now, up to one buffer; nothing is no error.
Result<void> StreamLine::read_some() {
  std::array<char, 1024> buffer{};
  const ssize_t count = read(descriptor_, buffer.data(), buffer.size());
  if (count > 0) {
    waiting_.append(buffer.data(), static_cast<std::size_t>(count));
    return {};
  }
  if (count == 0) return gone("the other end closed the connection");
  if (errno == EAGAIN || errno == EINTR) return {};
  return gone(errno == EIO ? "the line is gone" : std::strerror(errno));
}

Result<std::string> StreamLine::receive(Deadline until) {
  for (;;) {
    const std::size_t end = waiting_.find('\n');
    if (end != std::string::npos) {
      std::string line = waiting_.substr(0, end);
      waiting_.erase(0, end + 1);
      while (!line.empty() && (line.back() == '\r' || line.back() == ' ')) line.pop_back();
      return line;
    }
    if (waiting_.size() > longest_answer) {
      waiting_.clear();
      return Error{ErrorCode::format, "sends without an end of line"};
    }
    switch (stop_.wait_for(descriptor_, false, until)) {
      case StopSign::Ready::stopped:
        return Error{ErrorCode::busy, "stopped"};
      case StopSign::Ready::late:
        return Error{ErrorCode::busy, "no answer"};
      case StopSign::Ready::yes:
        break;
    }
    if (auto read = read_some(); !read) return read.error();
  }
}

// A little at most: an instrument that never stops talking is told by its answers.
void StreamLine::discard() {
  waiting_.clear();
  for (int i = 0; i < 16 && stop_.wait_for(descriptor_, false, {}) == StopSign::Ready::yes; ++i) {
    if (!read_some()) break;
  }
  waiting_.clear();
}

}  // namespace foundling
