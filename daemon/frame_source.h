// Where frames come from: one CAN interface, or a stand-in for it in tests. Listens only: there is
// no way to send through it.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>

#include "schemas/values/frame.h"
#include "schemas/values/result.h"

namespace foundling {

// A frame as it came off the socket. frame.t_ns and frame.bus are for the recorder to fill in.
struct Arrival {
  Frame frame;                         // data, remote or error frame
  std::int64_t wall_ns = 0;            // the kernel's receive stamp, wall clock
  std::int64_t hardware_ns = 0;        // the adapter's own clock; 0: it does not stamp
  std::optional<std::uint32_t> drops;  // the socket's drop counter when this frame was queued
};

enum class SourceState : std::uint8_t {
  ready,   // more may come
  down,    // the interface is switched off; the same source delivers again once it is on
  gone,    // the interface was removed: this source is dead
  broken,  // anything else: this source is dead
};

struct ReadOutcome {
  std::size_t count = 0;  // arrivals filled in, from the front; 0 with `ready`: nothing waiting
  SourceState state = SourceState::ready;
  std::string why;  // the operating system's words, where state is not ready
};

class FrameSource {
 public:
  FrameSource() = default;
  FrameSource(const FrameSource&) = delete;
  FrameSource& operator=(const FrameSource&) = delete;
  virtual ~FrameSource() = default;

  virtual ReadOutcome read(std::span<Arrival> into) = 0;  // never blocks
  // Frames the kernel dropped for want of room since the source was opened, modulo 2^32.
  virtual std::optional<std::uint32_t> drop_counter() = 0;
  [[nodiscard]] virtual int descriptor() const = 0;  // becomes readable when read() has something
  [[nodiscard]] virtual unsigned interface_index() const = 0;
};

using OpenSource = std::function<Result<std::unique_ptr<FrameSource>>()>;

}  // namespace foundling
