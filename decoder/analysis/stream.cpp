#include "decoder/analysis/stream.h"

#include <algorithm>
#include <numeric>

namespace foundling {
namespace {

// Payloads shorter than usual carry other content: only the commonest length is looked at.
std::vector<std::uint32_t> frames_of_common_length(const MessageSeries& message) {
  std::vector<std::uint32_t> frames(message.size());
  std::iota(frames.begin(), frames.end(), 0U);
  if (message.lengths.empty()) return frames;
  std::vector<std::size_t> count(65, 0);
  for (const std::uint8_t length : message.lengths) ++count[length];
  const auto common =
      static_cast<std::uint8_t>(std::max_element(count.begin(), count.end()) - count.begin());
  std::erase_if(frames, [&](std::uint32_t i) { return message.lengths[i] != common; });
  return frames;
}

// How many frames at the start still carry a byte of all ones that is something else later on.
// A quarter of the frames at most: what lasts longer is not a start-up.
std::size_t startup_frames(const MessageSeries& message, std::span<const std::uint32_t> frames) {
  std::size_t startup = 0;
  for (std::size_t byte = 0; byte < message.length; ++byte) {
    std::size_t run = 0;
    while (run < frames.size() && message.row(frames[run])[byte] == 0xFF) ++run;
    if (run * 4 <= frames.size()) startup = std::max(startup, run);
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
  Stream stream{message.bus, message.id, page, index, BitMatrix(message, frames), 0, {}, {}};
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
  return stream;
}

}  // namespace

std::vector<Stream> make_streams(std::span<const MessageSeries> messages, const Survey& survey) {
  std::vector<Stream> streams;
  for (std::size_t index = 0; index < messages.size(); ++index) {
    const MessageSeries& message = messages[index];
    const MessageSurvey& known = survey.messages[index];
    std::vector<std::uint32_t> frames = frames_of_common_length(message);
    if (message.length == 0 || frames.size() < 4) continue;
    const auto skip = static_cast<std::ptrdiff_t>(startup_frames(message, frames));
    frames.erase(frames.begin(), frames.begin() + skip);
    streams.push_back(make_stream(message, known, index, {}, frames));
    for (const SelectorFinding& selector : known.selectors) {
      for (const std::uint64_t value : selector.values) {
        std::vector<std::uint32_t> on_page;
        for (const std::uint32_t i : frames) {
          if (extract(selector.span, message.row(i)) == value) on_page.push_back(i);
        }
        if (on_page.size() < 4) continue;
        streams.push_back(make_stream(message, known, index, Page{selector.span, value}, on_page));
      }
    }
  }
  return streams;
}

}  // namespace foundling
