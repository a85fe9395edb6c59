#include "tests/bench/recovery/layout.h"

#include <algorithm>
#include <numeric>

namespace foundling::recovery {
namespace {

std::size_t index_of(BitPosition p) { return std::size_t{p.byte} * 8 + p.bit; }

CheckCode draw_check(bool wide, Rng& rng) {
  CheckCode code;
  if (wide) {
    code.kind = "crc16";
    code.width = 16;
    code.polynomial = rng.chance(0.7) ? 0x1021 : 0x8005;
    code.initial = 0xFFFF;
    return code;
  }
  switch (rng.integer(0, 6)) {
    case 0:  // SAE J1850
      code.polynomial = 0x1D, code.initial = 0xFF, code.final_xor = 0xFF;
      break;
    case 1:  // AUTOSAR CRC8H2F
      code.polynomial = 0x2F, code.initial = 0xFF, code.final_xor = 0xFF;
      break;
    case 2:
      code.polynomial = 0x07;
      break;
    case 3:
      code.polynomial = 0x31, code.reflected = true;
      break;
    case 4:  // AUTOSAR end-to-end profile 1, both bytes of the data ID
      code.polynomial = 0x1D;
      code.hidden_prefix = {static_cast<std::uint8_t>(rng.integer(0, 255)),
                            static_cast<std::uint8_t>(rng.integer(0, 255))};
      break;
    case 5:
      code.kind = "sum8";
      code.includes_identifier = rng.chance(0.5);
      code.final_xor = rng.chance(0.3) ? 0xFF : 0;
      break;
    default:
      code.kind = "xor8";
      code.initial = rng.chance(0.5) ? 0 : 0x55;
      break;
  }
  return code;
}

// Most boards send page after page; some keep another order, some send a few pages more often,
// ahead of every few others.
std::vector<std::size_t> draw_page_order(std::size_t pages, Rng rng) {
  std::vector<std::size_t> order(pages);
  std::iota(order.begin(), order.end(), std::size_t{0});
  if (rng.chance(0.5)) return order;
  rng.shuffle(order);
  const auto often = static_cast<std::ptrdiff_t>(rng.integer(0, 2));
  if (often == 0) return order;
  const auto others = static_cast<std::ptrdiff_t>(rng.integer(1, 4));
  std::vector<std::size_t> round;
  for (auto next = order.begin() + often; next != order.end();) {
    round.insert(round.end(), order.begin(), order.begin() + often);
    const auto end = next + std::min(others, order.end() - next);
    round.insert(round.end(), next, end);
    next = end;
  }
  return round;
}

}  // namespace

// A run of `width` bits starting at step k of the order's own numbering of bits.
Span Packer::run(int k, int width) const {
  const auto at = [&](int i) {
    const int bit = recipe_.little ? i % 8 : 7 - i % 8;
    return BitPosition{static_cast<std::uint8_t>(i / 8), static_cast<std::uint8_t>(bit)};
  };
  const BitPosition first = at(k);
  const BitPosition last = at(k + width - 1);
  return recipe_.little ? Span{last, first} : Span{first, last};
}

std::optional<Span> Packer::find(int width, const std::bitset<512>& used, int from) const {
  const int step = recipe_.packed || width < 5 ? 1 : 8;
  for (int k = (from + step - 1) / step * step; k + width <= open_.length * 8; k += step) {
    if (width < 8 && !recipe_.packed && k % 8 + width > 8) continue;
    const Span span = run(k, width);
    bool free = true;
    for (int i = 0; i < width && free; ++i) free = !used[index_of(span.position(i))];
    if (free) return span;
  }
  return {};
}

void Packer::occupy(const Span& span) {
  for (int i = 0; i < span.width(); ++i) used_.set(index_of(span.position(i)));
}

CanId Packer::draw_identifier() {
  for (;;) {
    CanId id = CanId::standard(static_cast<std::uint32_t>(rng_.integer(0x080, 0x7EF)));
    if (recipe_.j1939) {  // proprietary and public groups of one source address
      const auto group = static_cast<std::uint32_t>(rng_.integer(0xFE00, 0xFFFF));
      id = CanId::extended((6U << 26U) | (group << 8U) | 0xF3U);
    } else if (recipe_.extended) {
      id = CanId::extended(static_cast<std::uint32_t>(rng_.integer(0x10000, 0x1FFFFFFF)));
    }
    const bool taken = std::any_of(messages_.begin(), messages_.end(),
                                   [&](const MessageSpec& m) { return m.id == id; });
    if (!taken) return id;
  }
}

void Packer::open(int length) {
  close();
  open_ = {};
  used_.reset();
  is_open_ = true;
  keep_length_ = false;
  cursor_ = 0;
  open_.id = draw_identifier();
  open_.length = length;
  open_.fd = recipe_.fd;
  open_.padding = recipe_.j1939 || rng_.chance(0.2) ? 0xFF : 0x00;
  open_.jitter = rng_.log_uniform(0.002, 0.05);
  add_frame_guards();
}

void Packer::add_check(BitPosition byte_top, int width) {
  FieldSpec check;
  check.use = FieldSpec::Use::check;
  check.code.width = width;
  check.check = draw_check(width == 16, rng_);
  check.span = run(byte_top.byte * 8, width);
  occupy(check.span);
  open_.fields.push_back(check);
}

void Packer::add_frame_guards() {
  if (!rng_.chance(0.6)) return;
  FieldSpec counter;
  counter.use = FieldSpec::Use::counter;
  const auto last = static_cast<std::uint8_t>(open_.length - 1);
  if (recipe_.j1939) {
    counter.code.width = 3;
    counter.modulus = 8;
    counter.span = {{7, 2}, {7, 0}};
    FieldSpec check;
    check.use = FieldSpec::Use::check;
    check.check.kind = "j1939";
    check.check.width = 3;
    check.code.width = 3;
    check.span = {{7, 6}, {7, 4}};
    open_.fields.push_back(check);
    for (const std::uint8_t bit :
         {std::uint8_t{7}, std::uint8_t{3}}) {  // both are four bits wide, their top bit 0
      FieldSpec zero;
      zero.use = FieldSpec::Use::constant;
      zero.code.width = 1;
      zero.codes = {0};
      zero.span = {{7, bit}, {7, bit}};
      open_.fields.push_back(zero);
    }
    for (std::uint8_t bit = 0; bit < 8; ++bit) used_.set(index_of({7, bit}));
    keep_length_ = true;
  } else {
    const bool with_check = rng_.chance(0.6);
    const bool in_front = rng_.chance(0.25);
    const int check_width = recipe_.fd && rng_.chance(0.6) ? 16 : 8;
    const int check_bytes = with_check ? check_width / 8 : 0;
    const auto check_at = static_cast<std::uint8_t>(in_front ? 0 : last + 1 - check_bytes);
    if (with_check) add_check({check_at, 7}, check_width);
    const auto byte = static_cast<std::uint8_t>(in_front ? check_bytes : last - check_bytes);
    int style = rng_.integer(0, 3);
    if (style == 2 && recipe_.event_driven_chance > 0) style = 0;  // eight bits would hardly wrap
    const std::uint8_t low = style == 1 ? 4 : 0;
    const int width = style == 2 ? 8 : style == 3 ? 2 : 4;
    counter.code.width = width;
    counter.modulus = 1U << width;
    if (width == 4 && rng_.chance(0.3)) counter.modulus = 15;  // the top value is skipped
    counter.span = {{byte, static_cast<std::uint8_t>(low + width - 1)}, {byte, low}};
    keep_length_ = !in_front || with_check;
  }
  occupy(counter.span);
  open_.fields.push_back(counter);
}

void Packer::place(FieldSpec field) {
  for (int attempt = 0; attempt < 200; ++attempt) {
    if (!is_open_) open(8);
    const auto span = find(field.code.width, used_, cursor_);
    if (span) {
      field.span = *span;
      occupy(*span);
      const int end = recipe_.little ? span->msb.byte * 8 + span->msb.bit
                                     : span->lsb.byte * 8 + 7 - span->lsb.bit;
      cursor_ = end + 1 + (rng_.chance(0.15) ? rng_.integer(1, 8) : 0);
      open_.fields.push_back(std::move(field));
      return;
    }
    close();
  }
}

void Packer::close() {
  if (!is_open_) return;
  is_open_ = false;
  if (open_.fields.empty()) return;
  if (!keep_length_) {
    int last = 1;
    for (const FieldSpec& field : open_.fields) last = std::max(last, field.span.last_byte());
    if (!open_.fd && open_.padding == 0) open_.length = last + 1;
  }
  // The check goes over everything else: last.
  std::stable_partition(open_.fields.begin(), open_.fields.end(),
                        [](const FieldSpec& field) { return field.use != FieldSpec::Use::check; });
  messages_.push_back(std::move(open_));
}

void Packer::place_on_pages(const std::vector<FieldSpec>& fields) {
  open(8);
  const int selector_bits = fields.size() > 30 || rng_.chance(0.5) ? 8 : 5;
  const auto selector = find(selector_bits, used_, 0);
  FieldSpec select;
  select.use = FieldSpec::Use::selector;
  select.code.width = selector_bits;
  select.span = *selector;
  occupy(*selector);
  open_.fields.push_back(select);
  open_.selector = *selector;
  std::vector<Span> places;  // of one page
  cursor_ = 0;
  while (const auto span = find(fields.front().code.width, used_, cursor_)) {
    places.push_back(*span);
    occupy(*span);
  }
  const int start = rng_.chance(0.5) ? 0 : 1;
  for (std::size_t i = 0; i < fields.size(); ++i) {
    FieldSpec field = fields[i];
    const std::size_t page = i / places.size();
    field.page = static_cast<int>(page);
    field.span = places[i % places.size()];
    if (page == open_.pages.size()) {
      open_.pages.push_back(page + static_cast<std::size_t>(start));
    }
    open_.fields.push_back(field);
  }
  Rng apart = rng_;  // so that the rest of a board does not hang on the order
  open_.page_order = draw_page_order(open_.pages.size(), Rng(apart.next()));
  keep_length_ = true;
  close();
}

}  // namespace foundling::recovery
