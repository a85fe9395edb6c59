#include "schemas/capture/frame_columns.h"

#include <algorithm>
#include <numeric>

namespace foundling::capture_file {
namespace {

// Chunks double up to this: large enough for the allocator to map each on its own, so that memory
// goes back as soon as a chunk has been copied.
constexpr std::size_t smallest_chunk = 64;
constexpr std::size_t largest_chunk = 32768;

}  // namespace

FrameColumns::Message& FrameColumns::message(std::uint8_t bus, CanId id) {
  const std::uint64_t key = (std::uint64_t{bus} << 32U) | id.raw;
  const auto [place, is_new] = index_.try_emplace(key, messages_.size());
  if (is_new) {
    messages_.emplace_back();
    messages_.back().bus = bus;
    messages_.back().id = id;
  }
  return messages_[place->second];
}

FrameColumns::Chunk& FrameColumns::chunk_for(Message& message, std::uint8_t length) {
  const bool fits = !message.chunks.empty() &&
                    message.chunks.back().t_ns.size() < message.chunks.back().t_ns.capacity() &&
                    length <= message.chunks.back().stride;
  if (!fits) {
    const std::size_t rows = std::clamp(message.rows, smallest_chunk, largest_chunk);
    Chunk& chunk = message.chunks.emplace_back();
    chunk.stride = std::max(length, message.longest);
    chunk.t_ns.reserve(rows);
    chunk.bytes.reserve(rows * chunk.stride);
  }
  return message.chunks.back();
}

void FrameColumns::add(std::int64_t t_ns, std::uint8_t bus, CanId id, std::uint8_t flags,
                       std::span<const std::uint8_t> payload) {
  Message& into = message(bus, id);
  const auto length = static_cast<std::uint8_t>(payload.size());
  into.longest = std::max(into.longest, length);
  Chunk& chunk = chunk_for(into, length);
  if (length != chunk.stride && chunk.lengths.empty()) {
    chunk.lengths.reserve(chunk.t_ns.capacity());
    chunk.lengths.assign(chunk.t_ns.size(), chunk.stride);
  }
  if (length != chunk.stride || !chunk.lengths.empty()) chunk.lengths.push_back(length);
  chunk.t_ns.push_back(t_ns);
  chunk.bytes.insert(chunk.bytes.end(), payload.begin(), payload.end());
  chunk.bytes.resize(chunk.t_ns.size() * chunk.stride);
  if (into.rows > 0 && t_ns < into.last_ns) into.ordered = false;
  into.last_ns = t_ns;
  ++into.rows;
  if ((flags & fd_flag_fd_format) != 0) ++into.fd_rows;
}

MessageSeries FrameColumns::assemble(Message& message) {
  MessageSeries series;
  series.bus = message.bus;
  series.id = message.id;
  series.length = message.longest;
  series.t_ns.reserve(message.rows);
  series.bytes.reserve(message.rows * message.longest);
  const bool mixed =
      std::any_of(message.chunks.begin(), message.chunks.end(), [&](const Chunk& chunk) {
        return !chunk.lengths.empty() || chunk.stride != message.longest;
      });
  if (mixed) series.lengths.reserve(message.rows);
  for (Chunk& chunk : message.chunks) {
    const std::size_t done = series.t_ns.size();
    const std::size_t rows = chunk.t_ns.size();
    series.t_ns.insert(series.t_ns.end(), chunk.t_ns.begin(), chunk.t_ns.end());
    if (chunk.stride == message.longest) {
      series.bytes.insert(series.bytes.end(), chunk.bytes.begin(), chunk.bytes.end());
    } else {
      for (std::size_t row = 0; row < rows; ++row) {
        const auto from = chunk.bytes.begin() + static_cast<std::ptrdiff_t>(row * chunk.stride);
        series.bytes.insert(series.bytes.end(), from, from + chunk.stride);
        series.bytes.resize((done + row + 1) * message.longest);
      }
    }
    if (mixed && chunk.lengths.empty()) {
      series.lengths.insert(series.lengths.end(), rows, chunk.stride);
    } else if (mixed) {
      series.lengths.insert(series.lengths.end(), chunk.lengths.begin(), chunk.lengths.end());
    }
    chunk = Chunk();
  }
  if (!message.ordered) sort_by_time(series);
  return series;
}

// Recorders write in order; only a file from elsewhere gets here.
void FrameColumns::sort_by_time(MessageSeries& series) {
  std::vector<std::size_t> order(series.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return series.t_ns[a] < series.t_ns[b]; });
  MessageSeries sorted;
  sorted.bus = series.bus;
  sorted.id = series.id;
  sorted.length = series.length;
  for (const std::size_t i : order) {
    sorted.t_ns.push_back(series.t_ns[i]);
    const auto row = series.row(i);
    sorted.bytes.insert(sorted.bytes.end(), row.begin(), row.end());
    if (!series.lengths.empty()) sorted.lengths.push_back(series.lengths[i]);
  }
  series = std::move(sorted);
}

std::vector<FdMessage> FrameColumns::fd_messages() const {
  std::vector<FdMessage> found;
  for (const Message& message : messages_) {
    if (message.fd_rows > 0) found.push_back({message.bus, message.id, message.fd_rows});
  }
  std::sort(found.begin(), found.end(), [](const FdMessage& a, const FdMessage& b) {
    return a.bus != b.bus ? a.bus < b.bus : a.id < b.id;
  });
  return found;
}

std::vector<MessageSeries> FrameColumns::take() {
  std::sort(messages_.begin(), messages_.end(), [](const Message& a, const Message& b) {
    return a.bus != b.bus ? a.bus < b.bus : a.id < b.id;
  });
  std::vector<MessageSeries> all;
  all.reserve(messages_.size());
  for (Message& message : messages_) all.push_back(assemble(message));
  messages_.clear();
  index_.clear();
  return all;
}

}  // namespace foundling::capture_file
