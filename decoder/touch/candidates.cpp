#include "decoder/touch/candidates.h"

#include <algorithm>
#include <array>
#include <utility>

namespace foundling::touch {
namespace {

using Page = std::pair<MessageKey, std::optional<std::uint64_t>>;
using Parted = std::map<Page, std::vector<const Frame*>>;

std::optional<std::uint64_t> page_of(const Frame& frame, const Selectors& selectors) {
  const auto found = selectors.find({frame.bus, frame.id});
  if (found == selectors.end() || found->second.last_byte() >= frame.length) return {};
  return extract(found->second, frame.bytes());
}

bool is_data(const Frame& frame) { return !frame.id.is_remote() && !frame.id.is_error(); }

Parted parted(std::span<const Frame> frames, const Selectors& selectors) {
  Parted parts;
  for (const Frame& frame : frames) {
    if (!is_data(frame)) continue;
    parts[{{frame.bus, frame.id}, page_of(frame, selectors)}].push_back(&frame);
  }
  return parts;
}

// Bits of the bytes that all frames have.
struct Moved {
  std::array<std::uint8_t, 64> bits{};
  int length = 0;

  explicit Moved(const std::vector<const Frame*>& frames) {
    length = frames.front()->length;
    for (const Frame* frame : frames) length = std::min<int>(length, frame->length);
    for (const Frame* frame : frames) {
      for (std::size_t i = 0; i < static_cast<std::size_t>(length); ++i) {
        bits[i] =
            static_cast<std::uint8_t>(bits[i] | (frame->payload[i] ^ frames.front()->payload[i]));
      }
    }
  }
  [[nodiscard]] int count(const Span& span) const {
    int moved = 0;
    for (int i = 0; i < span.width(); ++i) {
      const BitPosition at = span.position(i);
      moved += (bits[at.byte] >> at.bit) & 1;
    }
    return moved;
  }
};

std::vector<Span> moving_bits(const Moved& moved) {
  std::vector<Span> out;
  for (std::uint8_t byte = 0; byte < moved.length; ++byte) {
    for (std::uint8_t bit = 0; bit < 8; ++bit) {
      if (((moved.bits[byte] >> bit) & 1) != 0) out.push_back({{byte, bit}, {byte, bit}});
    }
  }
  return out;
}

// Half bytes, bytes, and two bytes in either order, of which more than one bit moved: with one, the
// bit says it all.
std::vector<Span> moving_fields(const Moved& moved) {
  std::vector<Span> out;
  const auto add = [&](const Span& span) {
    if (moved.count(span) > 1) out.push_back(span);
  };
  for (std::uint8_t byte = 0; byte < moved.length; ++byte) {
    const auto next = static_cast<std::uint8_t>(byte + 1);
    add({{byte, 7}, {byte, 4}});
    add({{byte, 3}, {byte, 0}});
    add({{byte, 7}, {byte, 0}});
    if (next >= moved.length) continue;
    add({{byte, 7}, {next, 0}});
    add({{next, 7}, {byte, 0}});
  }
  return out;
}

class WindowTraces {
 public:
  WindowTraces(std::int64_t start_ns, const Timing& timing)
      : start_ns_(start_ns), timing_(timing) {}

  void add_rate(const MessageKey& message, const std::vector<const Frame*>& frames) {
    Bins counts{};
    for (const Frame* frame : frames) counts[bin_of(*frame)] += 1;
    if (std::all_of(counts.begin(), counts.end(), [&](double c) { return c == counts[0]; })) return;
    std::array<bool, window_bins> all{};
    all.fill(true);
    // A period that is no multiple of a bin makes its count differ by one.
    constexpr double grain = 0.2;
    const Mask mask(all);
    for (const Shape shape : {Shape::step, Shape::pulse}) {
      add({message, {}, {}, shape}, mask, counts, shape_norms(mask, shape), grain);
    }
  }

  void add_payload(const Page& page, const std::vector<const Frame*>& frames) {
    const Moved moved(frames);
    std::array<bool, window_bins> seen{};
    Bins counts{};
    for (const Frame* frame : frames) {
      seen[bin_of(*frame)] = true;
      counts[bin_of(*frame)] += 1;
    }
    const Mask mask(seen);
    constexpr int fewest = 4;  // a line and a change leave nothing to judge of three
    if (mask.count() < fewest) return;
    const ShapeNorms steps = shape_norms(mask, Shape::step);
    for (const Span& bit : moving_bits(moved)) {
      add({page.first, page.second, bit, Shape::step}, mask, means(bit, frames, counts), steps,
          0.05);
    }
    const std::vector<Span> fields = moving_fields(moved);
    if (fields.empty()) return;
    const ShapeNorms bends = shape_norms(mask, Shape::bend);
    // A code stands for all values within half a step: uniform, of standard deviation 1/sqrt(12).
    constexpr double rounding = 0.289;
    for (const Span& field : fields) {
      const Bins values = means(field, frames, counts);
      add({page.first, page.second, field, Shape::step}, mask, values, steps, rounding);
      add({page.first, page.second, field, Shape::bend}, mask, values, bends, rounding);
    }
  }

  std::vector<Trace> take() { return std::move(traces_); }

 private:
  [[nodiscard]] std::size_t bin_of(const Frame& frame) const {
    const std::int64_t bin = (frame.t_ns - start_ns_) / timing_.bin_ns();
    return static_cast<std::size_t>(std::clamp<std::int64_t>(bin, 0, window_bins - 1));
  }
  [[nodiscard]] Bins means(const Span& span, const std::vector<const Frame*>& frames,
                           const Bins& counts) const {
    Bins out{};
    for (const Frame* frame : frames) {
      out[bin_of(*frame)] += static_cast<double>(extract(span, frame->bytes()));
    }
    for (std::size_t i = 0; i < out.size(); ++i) {
      if (counts[i] > 0) out[i] /= counts[i];
    }
    return out;
  }
  void add(const Candidate& candidate, const Mask& mask, const Bins& values,
           const ShapeNorms& norms, double grain) {
    Trace trace{candidate, moments_of_change(mask, values, candidate.shape, norms, grain), 0, 0};
    double before = 0, after = 0;
    for (int bin = 0; bin < window_bins; ++bin) {
      if (!mask.seen(bin)) continue;
      const double value = values[static_cast<std::size_t>(bin)];
      if (bin < lead_bins || before == 0) trace.before += value, ++before;
      if (bin >= window_bins - tail_bins) trace.after += value, ++after;
    }
    if (before > 0) trace.before /= before;
    if (after > 0) trace.after /= after;
    traces_.push_back(std::move(trace));
  }

  std::int64_t start_ns_;
  Timing timing_;
  std::vector<Trace> traces_;
};

}  // namespace

std::vector<Trace> traces_in(std::span<const Frame> frames, std::int64_t start_ns,
                             const Timing& timing, const Selectors& selectors) {
  std::vector<Frame> inside;
  for (const Frame& frame : frames) {
    const std::int64_t t = frame.t_ns - start_ns;
    if (t >= 0 && t < timing.window_ns() && is_data(frame)) inside.push_back(frame);
  }
  WindowTraces traces(start_ns, timing);
  std::map<MessageKey, std::vector<const Frame*>> messages;
  for (const Frame& frame : inside) messages[{frame.bus, frame.id}].push_back(&frame);
  for (const auto& [message, of_it] : messages) traces.add_rate(message, of_it);
  for (const auto& [page, of_it] : parted(inside, selectors)) traces.add_payload(page, of_it);
  return traces.take();
}

Known known_before(std::span<const Frame> frames, const Selectors& selectors) {
  Known known;
  for (const auto& [page, of_it] : parted(frames, selectors)) {
    known.messages.insert(page.first);
    for (const Span& bit : moving_bits(Moved(of_it))) {
      known.moving.insert({page.first, page.second, bit, Shape::step});
    }
  }
  return known;
}

}  // namespace foundling::touch
