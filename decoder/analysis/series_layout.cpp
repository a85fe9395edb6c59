#include "decoder/analysis/series_layout.h"

#include <algorithm>
#include <numeric>

#include "decoder/analysis/bit_matrix.h"

namespace foundling {
namespace {

constexpr std::size_t longest_shelf = 1024;

// Distance of a field's low end from the payload's start, along its line: little-endian counts bits
// upwards from bit 0, big-endian downwards from bit 7.
int low_end(const Span& span, ByteOrder order) {
  const int within = order == ByteOrder::little ? span.lsb.bit : 7 - span.lsb.bit;
  return span.lsb.byte * 8 + within;
}

std::optional<Span> span_at(int position, int width, ByteOrder order) {
  if (position < 0 || position >= 512) return {};
  const auto within = static_cast<std::uint8_t>(position % 8);
  const BitPosition lsb{
      static_cast<std::uint8_t>(position / 8),
      order == ByteOrder::little ? within : static_cast<std::uint8_t>(7 - within)};
  return Span::from_lsb(lsb, width, order);
}

bool same_message(const FieldPlace& a, const FieldPlace& b) {
  return a.bus == b.bus && a.id == b.id;
}

// Page value or identifier of a member.
std::int64_t number_of(const FieldPlace& place) {
  return place.page ? static_cast<std::int64_t>(place.page->value)
                    : static_cast<std::int64_t>(place.id.number());
}

bool shelves(const Stream& stream, const FieldPlace& like, bool by_identifier) {
  if (stream.bus != like.bus || stream.id.is_extended() != like.id.is_extended()) return false;
  if (by_identifier) return !stream.page;
  if (!(stream.id == like.id) || stream.page.has_value() != like.page.has_value()) return false;
  return !like.page || stream.page->span == like.page->span;
}

std::int64_t common_step(const std::vector<std::int64_t>& numbers) {
  std::int64_t step = 0;
  for (const std::int64_t n : numbers) step = std::gcd(step, n - numbers.front());
  return std::max<std::int64_t>(step, 1);
}

Shelf make_shelf(std::span<const Stream> streams, const FieldPlace& like, bool by_identifier,
                 std::int64_t step) {
  Shelf shelf;
  shelf.step = step;
  std::vector<std::pair<std::int64_t, std::size_t>> found;
  for (std::size_t s = 0; s < streams.size(); ++s) {
    if (!shelves(streams[s], like, by_identifier)) continue;
    const std::int64_t number = number_of({0, streams[s].id, streams[s].page, {}});
    if ((number - number_of(like)) % step == 0) found.emplace_back(number, s);
  }
  std::sort(found.begin(), found.end());
  if (found.empty()) return shelf;
  shelf.base = found.front().first;
  for (const auto& [number, stream] : found) {
    const auto at = static_cast<std::size_t>((number - shelf.base) / step);
    if (at >= longest_shelf) break;
    shelf.streams.resize(std::max(shelf.streams.size(), at + 1));
    shelf.streams[at] = stream;
  }
  return shelf;
}

// Pages in the steps of their values; messages in every step that their identifiers allow.
std::vector<Shelf> make_shelves(std::span<const TestedMember> members,
                                std::span<const Stream> streams) {
  const FieldPlace& first = members.front().proposal->place;
  const bool one_message = std::all_of(members.begin(), members.end(), [&](const TestedMember& m) {
    return same_message(m.proposal->place, first);
  });
  std::vector<std::int64_t> numbers;
  if (one_message) {
    if (first.page) {
      for (const Stream& s : streams) {
        if (shelves(s, first, false)) numbers.push_back(static_cast<std::int64_t>(s.page->value));
      }
    }
    return {make_shelf(streams, first, false, numbers.empty() ? 1 : common_step(numbers))};
  }
  for (const TestedMember& m : members) {
    if (m.proposal->place.page) return {};
    numbers.push_back(number_of(m.proposal->place));
  }
  std::vector<Shelf> out;
  const std::int64_t widest = common_step(numbers);
  for (std::int64_t step = 1; step <= std::min<std::int64_t>(widest, 4096); ++step) {
    if (widest % step == 0) out.push_back(make_shelf(streams, first, true, step));
  }
  return out;
}

// What the members say once a shelf is chosen.
struct Spot {
  std::int64_t number;
  std::int64_t shelf;  // place of its stream in the row
  int position;
};

std::vector<Spot> spots_on(const Shelf& shelf, std::span<const TestedMember> members,
                           ByteOrder order) {
  std::vector<Spot> spots;
  for (const TestedMember& m : members) {
    const FieldPlace& place = m.proposal->place;
    const bool alone = shelf.streams.size() == 1;
    const std::int64_t at = alone ? 0 : (number_of(place) - shelf.base) / shelf.step;
    if (at < 0 || at >= static_cast<std::int64_t>(shelf.streams.size())) return {};
    spots.push_back({m.number, at, low_end(place.span, order)});
  }
  return spots;
}

// The slots of one stream, slot 0 first, that hold all spots' positions; nothing if they do not
// fit. `before`: slots ahead of the first spot.
bool fits(std::span<const Spot> spots, int first_bit, int stride, int a_stream) {
  return std::all_of(spots.begin(), spots.end(), [&](const Spot& s) {
    const int off = s.position - first_bit;
    return off >= 0 && off % stride == 0 && off / stride < a_stream;
  });
}

// n = first + k * page + slot for every member?
std::optional<std::int64_t> first_number(std::span<const Spot> spots, int first_bit, int stride,
                                         int a_stream) {
  std::optional<std::int64_t> first;
  for (const Spot& s : spots) {
    const std::int64_t number = s.number - a_stream * s.shelf - (s.position - first_bit) / stride;
    if (first && *first != number) return {};
    first = number;
  }
  return first;
}

class Enumerator {
 public:
  Enumerator(const Shelf& shelf, std::vector<Spot> spots, int width, ByteOrder order, int bits,
             std::vector<SeriesLayout>& out)
      : shelf_(shelf),
        spots_(std::move(spots)),
        width_(width),
        order_(order),
        bits_(bits),
        out_(out) {}

  void run() {
    const bool one_stream = std::all_of(spots_.begin(), spots_.end(), [&](const Spot& s) {
      return s.shelf == spots_.front().shelf;
    });
    if (one_stream) {
      within_one_stream();
      return;
    }
    for (int stride = width_; stride <= bits_; ++stride) {
      if (stride != width_ && stride % 4 != 0) continue;
      const int most = (bits_ - width_) / stride + 1;
      for (int k = stride == width_ ? 1 : 2; k <= most; ++k) try_slots(stride, k);
    }
  }

 private:
  void try_slots(int stride, int k) {
    const auto [low, high] =
        std::minmax_element(spots_.begin(), spots_.end(),
                            [](const Spot& a, const Spot& b) { return a.position < b.position; });
    for (int first = low->position; first >= 0; first -= stride) {
      if (k == 1 && first != low->position) break;
      if (!fits(spots_, first, stride, k)) continue;
      // A little-endian field reaches upwards from its low end, a big-endian one back from it.
      const int reach = first + (k - 1) * stride + (order_ == ByteOrder::little ? width_ : 1);
      if (reach > bits_) continue;
      if (const auto number = first_number(spots_, first, stride, k)) {
        add(stride, k, first, *number, shelf_);
      }
    }
  }

  // All members on one page or in one message: the stride follows from two of them, and nothing
  // is said about other pages.
  void within_one_stream() {
    const Spot& a = spots_.front();
    const Spot& b = spots_.back();
    if (a.number == b.number || (b.position - a.position) % (b.number - a.number) != 0) return;
    const auto stride = static_cast<int>((b.position - a.position) / (b.number - a.number));
    if (stride < width_) return;
    const int first = a.position % stride;
    const int k = (bits_ - 1 - first) / stride + 1;
    Shelf alone;
    alone.base = shelf_.base + a.shelf * shelf_.step;
    alone.streams = {shelf_.streams[static_cast<std::size_t>(a.shelf)]};
    for (Spot& s : spots_) s.shelf = 0;
    if (!fits(spots_, first, stride, k)) return;
    if (const auto number = first_number(spots_, first, stride, k)) {
      add(stride, k, first, *number, alone);
    }
  }

  void add(int stride, int k, int first, std::int64_t number, const Shelf& shelf) {
    SeriesLayout layout;
    layout.shelf = shelf;
    layout.first_number = number;
    layout.a_stream = k;
    layout.first_bit = first;
    layout.stride = stride;
    layout.width = width_;
    layout.order = order_;
    out_.push_back(std::move(layout));
  }

  const Shelf& shelf_;
  std::vector<Spot> spots_;
  int width_;
  ByteOrder order_;
  int bits_;
  std::vector<SeriesLayout>& out_;
};

}  // namespace

std::optional<SeriesLayout::Place> SeriesLayout::at(std::int64_t number,
                                                    std::span<const Stream> streams) const {
  const std::int64_t index = number - first_number;
  if (index < 0 || index / a_stream >= static_cast<std::int64_t>(shelf.streams.size())) return {};
  const auto stream = shelf.streams[static_cast<std::size_t>(index / a_stream)];
  if (!stream) return {};
  const auto span = span_at(first_bit + static_cast<int>(index % a_stream) * stride, width, order);
  if (!span || span->last_byte() * 8 >= streams[*stream].bits.bits()) return {};
  return Place{*stream, *span};
}

std::vector<SeriesLayout> possible_layouts(std::span<const TestedMember> members,
                                           std::span<const Stream> streams) {
  std::vector<SeriesLayout> out;
  if (members.size() < 2) return out;
  int width = 0;
  ByteOrder order = ByteOrder::single;
  for (const TestedMember& m : members) {
    width = std::max(width, m.proposal->place.span.width());
    if (m.proposal->place.span.order() != ByteOrder::single) {
      order = m.proposal->place.span.order();
    }
  }
  const auto line = order == ByteOrder::little ? ByteOrder::little : ByteOrder::big;
  for (const Shelf& shelf : make_shelves(members, streams)) {
    int bits = 0;
    for (const auto& stream : shelf.streams) {
      if (stream) bits = std::max(bits, streams[*stream].bits.bits());
    }
    std::vector<Spot> spots = spots_on(shelf, members, line);
    if (!spots.empty()) Enumerator(shelf, std::move(spots), width, line, bits, out).run();
  }
  return out;
}

Neighbourly between_neighbours(std::span<const TestedMember> members,
                               std::span<const Stream> streams) {
  struct Step {
    const TestedMember* from;
    std::int64_t count;  // of numbers from one to the next
    int bits;            // a number
  };
  std::vector<Step> steps;
  std::map<int, int> seen;  // between tested neighbours: spacing, how often
  for (std::size_t i = 1; i < members.size(); ++i) {
    const FieldPlace& a = members[i - 1].proposal->place;
    const FieldPlace& b = members[i].proposal->place;
    const std::int64_t count = members[i].number - members[i - 1].number;
    if (!same_message(a, b) || a.page != b.page || a.span.width() != b.span.width()) continue;
    const int distance = low_end(b.span, b.span.order()) - low_end(a.span, a.span.order());
    if (count < 1 || distance % count != 0) continue;
    const auto bits = static_cast<int>(distance / count);
    if (std::abs(bits) < a.span.width()) continue;
    if (count == 1) ++seen[bits];
    steps.push_back({&members[i - 1], count, bits});
  }
  Neighbourly out;
  if (seen.empty()) return out;
  out.stride = std::max_element(seen.begin(), seen.end(), [](const auto& a, const auto& b) {
                 return a.second < b.second;
               })->first;
  for (const Step& step : steps) {
    if (step.bits != out.stride) continue;
    const FieldPlace& place = step.from->proposal->place;
    const auto stream = std::find_if(streams.begin(), streams.end(), [&](const Stream& s) {
      return s.bus == place.bus && s.id == place.id && s.page == place.page;
    });
    if (stream == streams.end()) continue;
    for (std::int64_t k = 1; k < step.count; ++k) {
      const ByteOrder order = place.span.order();
      const auto span = span_at(low_end(place.span, order) + static_cast<int>(k) * out.stride,
                                place.span.width(), order);
      if (!span) continue;
      out.places[step.from->number + k] = {static_cast<std::size_t>(stream - streams.begin()),
                                           *span};
    }
  }
  return out;
}

}  // namespace foundling
