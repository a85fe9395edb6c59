// Frames of one CAN interface from a raw socket (linux/can/raw.h): classical, FD and error frames,
// in batches, with the kernel's receive stamps and its drop counter. Never sends.
#pragma once

#include <cstddef>
#include <memory>
#include <string>

#include "daemon/frame_source.h"
#include "schemas/values/result.h"

namespace foundling {

class SocketSource final : public FrameSource {
 public:
  // `buffer_bytes`: how much the kernel may queue for us; more than the system's limit needs a
  // privilege, and the limit is used without it.
  static Result<std::unique_ptr<FrameSource>> open(const std::string& interface, int buffer_bytes);
  ~SocketSource() override;

  ReadOutcome read(std::span<Arrival> into) override;
  std::optional<std::uint32_t> drop_counter() override;
  [[nodiscard]] int descriptor() const override { return socket_; }
  [[nodiscard]] unsigned interface_index() const override { return index_; }

 private:
  struct Buffers;
  explicit SocketSource(int socket);
  Result<void> set_up(const std::string& interface, int buffer_bytes);

  int socket_;
  unsigned index_ = 0;
  std::unique_ptr<Buffers> buffers_;
};

// Frames that a socket opened so could hold while nobody reads, as the system grants it; 0 unknown.
[[nodiscard]] std::size_t frames_buffered(const FrameSource& source);

}  // namespace foundling
