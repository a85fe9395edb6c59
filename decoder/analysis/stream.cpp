#include "decoder/analysis/stream.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "decoder/analysis/coding.h"
#include "schemas/values/payload_id.h"

namespace foundling {
namespace {

// More bits than this that move are no quantities but noise, and the work goes with their square:
// four times what a block of 64 cells of 16 bits has.
constexpr std::size_t most_moving_bits = 4096;

// Payloads shorter than usual carry other content: only the commonest length is looked at.
std::vector<std::uint32_t> of_common_length(const MessageSeries& message,
                                            std::vector<std::uint32_t> frames) {
  if (message.lengths.empty()) return frames;
  std::vector<std::size_t> count(message.length + std::size_t{1}, 0);
  for (const std::uint32_t i : frames) ++count[message.lengths[i]];
  const auto common =
      static_cast<std::uint8_t>(std::max_element(count.begin(), count.end()) - count.begin());
  std::erase_if(frames, [&](std::uint32_t i) { return message.lengths[i] != common; });
  return frames;
}

// How many frames at the start still carry a byte of all ones that is something else later on. A
// quarter of the frames at most: what lasts longer is not a start-up. Nor is what comes back, as a
// state does or the upper byte of a small negative number; a low byte is all ones now and then.
std::size_t startup_frames(const MessageSeries& message, std::span<const std::uint32_t> frames) {
  std::size_t startup = 0;
  for (std::size_t byte = 0; byte < message.length; ++byte) {
    const auto all_ones = [&](std::uint32_t frame) { return message.row(frame)[byte] == 0xFF; };
    const auto end = std::find_if_not(frames.begin(), frames.end(), all_ones);
    const auto run = static_cast<std::size_t>(end - frames.begin());
    const auto again = static_cast<std::size_t>(std::count_if(end, frames.end(), all_ones));
    if (run * 4 <= frames.size() && again * 50 <= frames.size()) startup = std::max(startup, run);
  }
  return startup;
}

double median_period_s(const BitMatrix& bits) {
  const auto t = bits.times();
  if (t.size() < 2) return 0;
  std::vector<std::int64_t> steps(t.size() - 1);
  for (std::size_t i = 0; i + 1 < t.size(); ++i) steps[i] = t[i + 1] - t[i];
  const auto middle = steps.begin() + static_cast<std::ptrdiff_t>(steps.size() / 2);
  std::nth_element(steps.begin(), middle, steps.end());
  return static_cast<double>(*middle) * 1e-9;
}

void own(std::vector<bool>& owned, const Span& span) {
  for (int i = 0; i < span.width(); ++i) {
    const auto bit = static_cast<std::size_t>(bit_index(span.position(i)));
    if (bit < owned.size()) owned[bit] = true;
  }
}

Stream make_stream(const MessageSeries& message, const MessageSurvey& known, std::size_t index,
                   std::optional<Page> page, std::span<const std::uint32_t> frames) {
  Stream stream{message.bus, message.id, page, index, BitMatrix(message, frames),
                0,           {},         {},   false, {}};
  stream.period_s = median_period_s(stream.bits);
  const auto bits = static_cast<std::size_t>(stream.bits.bits());
  stream.owned.assign(bits, false);
  for (const auto& counter : known.counters) own(stream.owned, counter.span);
  for (const auto& checksum : known.checksums) own(stream.owned, checksum.span);
  for (const auto& selector : known.selectors) own(stream.owned, selector.span);
  stream.moving.resize(bits);
  for (std::size_t bit = 0; bit < bits; ++bit) {
    stream.moving[bit] = !stream.owned[bit] && stream.bits.moves(static_cast<int>(bit));
  }
  stream.coded = coded_spans(stream.bits, stream.owned, stream.moving);
  return stream;
}

// Whether the payloads that the message's frames carry are there as messages of their own.
bool payloads_follow(std::span<const MessageSeries> messages, std::size_t index) {
  return index + 1 < messages.size() && messages[index + 1].bus == messages[index].bus &&
         is_payload(messages[index + 1].id) &&
         frames_of(messages[index + 1].id) == messages[index].id;
}

std::vector<std::uint32_t> frames_on_page(const MessageSeries& message, const Page& page,
                                          std::span<const std::uint32_t> frames) {
  std::vector<std::uint32_t> on_page;
  for (const std::uint32_t i : frames) {
    if (extract(page.span, message.row(i)) == page.value) on_page.push_back(i);
  }
  return is_payload(message.id) ? of_common_length(message, std::move(on_page)) : on_page;
}

}  // namespace

std::vector<Stream> make_streams(std::span<const MessageSeries> messages, const Survey& survey,
                                 std::span<const LeftOut> left_out) {
  std::vector<Stream> streams;
  for (std::size_t index = 0; index < messages.size(); ++index) {
    const MessageSeries& message = messages[index];
    const MessageSurvey& known = survey.messages[index];
    if (known.segmented_transport && payloads_follow(messages, index)) continue;
    std::vector<std::uint32_t> all(message.size());
    std::iota(all.begin(), all.end(), 0U);
    if (!left_out.empty() && !left_out[index].empty()) {
      std::erase_if(all, [&](std::uint32_t i) { return left_out[index][i]; });
    }
    // Of payloads each kind of data has a length of its own.
    const bool by_page = is_payload(message.id) && !known.selectors.empty();
    std::vector<std::uint32_t> frames = by_page ? all : of_common_length(message, std::move(all));
    if (message.length == 0 || frames.size() < 4) continue;
    const auto skip = static_cast<std::ptrdiff_t>(startup_frames(message, frames));
    frames.erase(frames.begin(), frames.begin() + (by_page ? 0 : skip));
    const auto add = [&](std::optional<Page> page, std::span<const std::uint32_t> rows) {
      Stream stream = make_stream(message, known, index, page, rows);
      if (stream.bits.moving().size() <= most_moving_bits) streams.push_back(std::move(stream));
    };
    if (!by_page) add({}, frames);
    for (const SelectorFinding& selector : known.selectors) {
      for (const std::uint64_t value : selector.values) {
        const auto on_page = frames_on_page(message, {selector.span, value}, frames);
        if (on_page.size() >= 4) add(Page{selector.span, value}, on_page);
      }
    }
  }
  return streams;
}

}  // namespace foundling
