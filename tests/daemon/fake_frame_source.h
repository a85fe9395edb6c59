// A frame source without a kernel: the test says what each read yields. Named fake because it is.
#pragma once

#include <sys/eventfd.h>
#include <unistd.h>

#include <algorithm>
#include <cstdint>
#include <deque>
#include <memory>
#include <optional>
#include <utility>
#include <vector>

#include "daemon/frame_source.h"

namespace foundling {

struct FakeWire {  // what the test holds while the recorder owns the source
  struct Turn {
    std::vector<Arrival> arrivals;
    ReadOutcome outcome;
  };
  std::deque<Turn> turns;
  std::uint32_t drops = 0;
  unsigned index = 7;
  int ready = eventfd(0, EFD_NONBLOCK);

  FakeWire() = default;
  FakeWire(const FakeWire&) = delete;
  FakeWire& operator=(const FakeWire&) = delete;
  ~FakeWire() { close(ready); }

  void wake() const { eventfd_write(ready, 1); }
  void deliver(std::vector<Arrival> arrivals) {
    const std::size_t count = arrivals.size();
    turns.push_back({std::move(arrivals), {count, SourceState::ready, ""}});
    wake();
  }
  void fail(SourceState state, std::string why) {
    turns.push_back({{}, {0, state, std::move(why)}});
    wake();
  }
};

class FakeFrameSource final : public FrameSource {
 public:
  explicit FakeFrameSource(std::shared_ptr<FakeWire> wire)
      : wire_(std::move(wire)), descriptor_(dup(wire_->ready)) {}
  ~FakeFrameSource() override { close(descriptor_); }

  ReadOutcome read(std::span<Arrival> into) override {
    if (wire_->turns.empty()) {
      eventfd_t count = 0;
      eventfd_read(descriptor_, &count);
      return {};
    }
    FakeWire::Turn turn = std::move(wire_->turns.front());
    wire_->turns.pop_front();
    std::copy(turn.arrivals.begin(), turn.arrivals.end(), into.begin());
    return turn.outcome;
  }
  std::optional<std::uint32_t> drop_counter() override { return wire_->drops; }
  [[nodiscard]] int descriptor() const override { return descriptor_; }
  [[nodiscard]] unsigned interface_index() const override { return wire_->index; }

 private:
  std::shared_ptr<FakeWire> wire_;
  int descriptor_;
};

}  // namespace foundling
