// Gathers frames into one MessageSeries a message. Rows go into chunks that never move, and are
// put together at the end message by message, so that the peak stays near the 16 bytes that a
// frame of 8 bytes takes (a growing vector would take up to three times that while it moves).
#pragma once

#include <cstdint>
#include <span>
#include <unordered_map>
#include <vector>

#include "schemas/values/fd_message.h"
#include "schemas/values/frame.h"

namespace foundling::capture_file {

class FrameColumns {
 public:
  void add(std::int64_t t_ns, std::uint8_t bus, CanId id, std::uint8_t flags,
           std::span<const std::uint8_t> payload);

  // By bus, then standard before extended, then number.
  [[nodiscard]] std::vector<FdMessage> fd_messages() const;
  // In the same order. Leaves this empty.
  [[nodiscard]] std::vector<MessageSeries> take();

 private:
  struct Chunk {
    std::uint8_t stride = 0;  // bytes a row
    std::vector<std::int64_t> t_ns;
    std::vector<std::uint8_t> bytes;
    std::vector<std::uint8_t> lengths;  // empty while every row has `stride` bytes
  };
  struct Message {
    std::uint8_t bus = 0;
    CanId id;
    std::uint8_t longest = 0;
    bool ordered = true;
    std::int64_t last_ns = 0;
    std::size_t rows = 0;
    std::size_t fd_rows = 0;
    std::vector<Chunk> chunks;
  };

  Message& message(std::uint8_t bus, CanId id);
  static Chunk& chunk_for(Message& message, std::uint8_t length);
  static MessageSeries assemble(Message& message);
  static void sort_by_time(MessageSeries& series);

  std::unordered_map<std::uint64_t, std::size_t> index_;
  std::vector<Message> messages_;
};

}  // namespace foundling::capture_file
