#include "tools/board/messages.h"

#include <algorithm>
#include <cmath>

#include "schemas/values/span.h"
#include "tools/board/checksums.h"

namespace foundling::board {
namespace {

constexpr int cells_a_page = 3;
constexpr int cell_pages = 10;

std::span<const std::uint8_t> first(const Payload& payload, std::size_t n) {
  return std::span(payload.bytes).first(n);
}

void put(Payload& payload, const Span& span, std::uint64_t raw) {
  insert(span, raw, payload.bytes);
}

// Raw of a field that says "not available", all ones, until the board measures.
std::uint64_t or_missing(const Picture& p, std::uint64_t raw) {
  return p.measuring() ? raw : ~std::uint64_t{0};
}

// 1A4: fast pack values, big-endian, with counter and CRC. Silent during the self-test.
Payload encode_pack(const Picture& p, std::uint32_t sequence) {
  const Measured& m = p.measured;
  Payload out;
  put(out, {{0, 7}, {1, 0}}, to_raw(m.now[Input::pack_current], 0.1, 0, 16, true));
  put(out, {{2, 7}, {3, 0}}, to_raw(m.now[Input::pack_voltage], 0.1, 0, 16));
  put(out, {{4, 7}, {5, 0}}, to_raw(m.power_kw, 0.01, 0, 16, true));
  put(out, {{6, 7}, {6, 4}}, 0x8);
  put(out, {{6, 3}, {6, 0}}, sequence % 16);
  out.bytes[7] = crc8_j1850(first(out, 7));
  return out;
}

// 1B0: cells, three a page, little-endian, exclusive-or in the last byte. Page 9 has one cell.
Payload encode_cells(const Picture& p, std::uint32_t sequence) {
  const std::size_t page = sequence % cell_pages;
  Payload out;
  out.bytes[0] = static_cast<std::uint8_t>(page);
  for (std::size_t slot = 0; slot < cells_a_page; ++slot) {
    const std::size_t cell = page * cells_a_page + slot;
    const auto low = static_cast<std::uint8_t>(1 + 2 * slot);
    const Span span{{static_cast<std::uint8_t>(low + 1), 7}, {low, 0}};
    const std::uint64_t raw =
        cell < cell_count ? to_raw(p.measured.now.cell(cell), 0.001, 0, 16) : 0xFFFF;
    put(out, span, or_missing(p, raw));
  }
  out.bytes[7] = xor8(first(out, 7));
  return out;
}

// 2C1: temperatures, one byte each.
Payload encode_temperatures(const Picture& p, std::uint32_t) {
  const Inputs& now = p.measured.now;
  Payload out;
  for (std::size_t i = 0; i < temperature_count; ++i) {
    out.bytes[i] = static_cast<std::uint8_t>(or_missing(p, to_raw(now.temperature(i), 1, -40, 8)));
  }
  out.bytes[4] = static_cast<std::uint8_t>(or_missing(p, to_raw(now[Input::ambient], 1, -40, 8)));
  out.bytes[5] = static_cast<std::uint8_t>(
      or_missing(p, to_raw(now[Input::coolant_temperature], 0.5, -40, 8)));
  out.bytes[6] = p.wandering[0];
  out.bytes[7] = 0x5A;
  return out;
}

std::uint64_t fault_bits(const Measured& m) {
  const auto hottest = std::max(
      {m.now.temperature(0), m.now.temperature(1), m.now.temperature(2), m.now.temperature(3)});
  return (m.now.cell(m.lowest_cell) < 2.2 ? 1U : 0U) |
         (m.now.cell(m.highest_cell) > 3.6 ? 2U : 0U) | (hottest > 60 ? 4U : 0U) |
         (std::abs(m.now[Input::pack_current]) > 300 ? 8U : 0U);
}

// 2D0: switches, board state, two 12-bit values packed little-endian, a counter that never says 15.
Payload encode_state(const Picture& p, std::uint32_t sequence) {
  const Inputs& now = p.measured.now;
  Payload out;
  put(out, {{0, 0}, {0, 0}}, now.closed(Input::interlock) ? 1 : 0);
  put(out, {{0, 1}, {0, 1}}, now.closed(Input::contactor_positive_feedback) ? 1 : 0);
  put(out, {{0, 2}, {0, 2}}, now.closed(Input::contactor_negative_feedback) ? 1 : 0);
  put(out, {{0, 5}, {0, 4}}, static_cast<std::uint64_t>(now[Input::key_switch]));
  put(out, {{0, 6}, {0, 6}}, sequence % 2);
  put(out, {{0, 7}, {0, 7}}, 1);
  out.bytes[1] = static_cast<std::uint8_t>(p.state);
  put(out, {{2, 3}, {2, 0}}, p.measuring() ? fault_bits(p.measured) : 0);
  put(out, {{4, 3}, {3, 0}}, or_missing(p, to_raw(now[Input::supply_voltage], 0.005, 0, 12)));
  put(out, {{5, 7}, {4, 4}}, or_missing(p, to_raw(now[Input::coolant_pressure], 0.1, 0, 12)));
  put(out, {{6, 3}, {6, 0}}, sequence % 15);
  out.bytes[7] = sum8(first(out, 7));
  return out;
}

// 18FF50E5: slow pack values, little-endian.
Payload encode_slow_pack(const Picture& p, std::uint32_t) {
  const Measured& m = p.measured;
  const double percent = m.charge_ah / pack_capacity_ah * 100;
  Payload out;
  put(out, {{1, 7}, {0, 0}}, or_missing(p, to_raw(m.current_slow, 0.05, -1600, 16)));
  put(out, {{5, 7}, {2, 0}}, or_missing(p, to_raw(m.charge_ah, 0.001, 0, 32)));
  out.bytes[6] = static_cast<std::uint8_t>(or_missing(p, to_raw(percent, 0.4, 0, 8)));
  put(out, {{7, 1}, {7, 0}}, or_missing(p, m.now.closed(Input::interlock) ? 1 : 0));
  put(out, {{7, 7}, {7, 2}}, ~std::uint64_t{0});
  return out;
}

// 18FF51E5: lowest, highest and mean cell, and which they are.
Payload encode_cell_extremes(const Picture& p, std::uint32_t) {
  const Measured& m = p.measured;
  const auto volts = [&](double v) { return or_missing(p, to_raw(v, 0.001, 0, 16)); };
  Payload out;
  put(out, {{1, 7}, {0, 0}}, volts(m.now.cell(m.lowest_cell)));
  put(out, {{3, 7}, {2, 0}}, volts(m.now.cell(m.highest_cell)));
  put(out, {{5, 7}, {4, 0}}, volts(m.cell_mean));
  out.bytes[6] = static_cast<std::uint8_t>(or_missing(p, m.lowest_cell + 1));
  out.bytes[7] = static_cast<std::uint8_t>(or_missing(p, m.highest_cell + 1));
  return out;
}

// 18FF52E5: the sum of the cells, which is not the pack voltage while the bench feeds them apart.
Payload encode_cell_sum(const Picture& p, std::uint32_t) {
  Payload out;
  out.length = 4;
  put(out, {{1, 7}, {0, 0}}, or_missing(p, to_raw(p.measured.cell_sum, 0.01, 0, 16)));
  out.bytes[2] = 0x00;
  out.bytes[3] = p.wandering[2];
  return out;
}

// 3E0: nothing that the bench moves. Uptime, a wandering byte, a drifting converter.
Payload encode_housekeeping(const Picture& p, std::uint32_t) {
  Payload out;
  out.length = 7;
  put(out, {{3, 7}, {0, 0}}, p.uptime_ms);
  out.bytes[4] = p.wandering[1];
  put(out, {{5, 7}, {6, 0}}, p.drift);
  return out;
}

// 051: a name in pages of seven letters.
Payload encode_name(const Picture&, std::uint32_t sequence) {
  static constexpr std::string_view name = "INVENTED ORCHARD BOARD";
  Payload out;
  const std::size_t page = sequence % 4;
  out.bytes[0] = static_cast<std::uint8_t>(page);
  for (std::size_t i = 0; i < 7; ++i) {
    const std::size_t at = page * 7 + i;
    out.bytes[1 + i] = at < name.size() ? static_cast<std::uint8_t>(name[at]) : 0x20;
  }
  return out;
}

// 080: one byte that counts.
Payload encode_beat(const Picture&, std::uint32_t sequence) {
  Payload out;
  out.length = 1;
  out.bytes[0] = static_cast<std::uint8_t>(sequence);
  return out;
}

constexpr std::array plans{
    MessagePlan{CanId::standard(0x051), "name", 500, 120, true, encode_name},
    MessagePlan{CanId::standard(0x080), "heartbeat", 100, 20, true, encode_beat},
    MessagePlan{CanId::standard(0x1A4), "pack, fast", 10, 3, false, encode_pack},
    MessagePlan{CanId::standard(0x1B0), "cells", 10, 7, true, encode_cells},
    MessagePlan{CanId::standard(0x2C1), "temperatures", 100, 41, true, encode_temperatures},
    MessagePlan{CanId::standard(0x2D0), "state", 20, 9, true, encode_state},
    MessagePlan{CanId::standard(0x3E0), "housekeeping", 20, 15, true, encode_housekeeping},
    MessagePlan{CanId::extended(0x18FF50E5), "pack, slow", 100, 52, true, encode_slow_pack},
    MessagePlan{CanId::extended(0x18FF51E5), "cell extremes", 200, 73, true, encode_cell_extremes},
    MessagePlan{CanId::extended(0x18FF52E5), "cell sum", 500, 85, true, encode_cell_sum},
};

}  // namespace

std::uint64_t to_raw(double value, double scale, double offset, int width, bool is_signed) {
  const double raw = std::round((value - offset) / scale);
  const double codes = std::exp2(width);
  const double low = is_signed ? -codes / 2 : 0;
  const double high = is_signed ? codes / 2 - 1 : codes - 1;
  return static_cast<std::uint64_t>(static_cast<std::int64_t>(std::clamp(raw, low, high)));
}

std::span<const MessagePlan> periodic_messages() { return plans; }

Payload encode_event(const Picture& p) {
  Payload out;
  out.length = 6;
  out.bytes[0] = p.event_code;
  out.bytes[1] = p.event_count;
  put(out, {{5, 7}, {2, 0}}, p.uptime_ms);
  return out;
}

}  // namespace foundling::board
