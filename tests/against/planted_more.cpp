// Differences as other wiring, other firmware and broken parts make them.
#include <algorithm>

#include "schemas/values/span.h"
#include "tests/against/planted_differences.h"

namespace foundling::test {
namespace {

using Kind = DifferenceKind;
using Random = std::mt19937_64;

}  // namespace

std::vector<Planted> planted_by_wiring() {
  return {
      {"a message has another identifier",
       Kind::only_in_one,
       0x2C1,
       {{Kind::only_in_one, 0x2C7}},
       [](Messages&, Messages& b, Random&) { message(b, 0x2C1).id = CanId::standard(0x2C7); }},
      {"a message has a 29-bit identifier",
       Kind::only_in_one,
       0x2C1,
       {},
       [](Messages&, Messages& b, Random&) { message(b, 0x2C1).id = CanId::extended(0x2C1); }},
      {"a message begins late",
       Kind::silence,
       0x2C1,
       {},
       [](Messages&, Messages& b, Random&) {
         MessageSeries& series = message(b, 0x2C1);
         const std::size_t from = series.size() / 3;
         keep(series, [from](std::size_t i) { return i >= from; });
       }},
      {"somebody else sends the same identifier",
       Kind::period,
       0x18FF50E5,
       {},
       [](Messages&, Messages& b, Random&) {
         MessageSeries& series = message(b, 0x18FF50E5);
         const MessageSeries once = series;
         const std::int64_t half = (once.t_ns[1] - once.t_ns[0]) / 2;
         series.t_ns.clear();
         series.bytes.clear();
         for (std::size_t i = 0; i < once.size(); ++i) {
           for (const std::int64_t later : {std::int64_t{0}, half}) {
             series.t_ns.push_back(once.t_ns[i] + later);
             const auto row = once.row(i);
             series.bytes.insert(series.bytes.end(), row.begin(), row.end());
           }
         }
       }},
  };
}

std::vector<Planted> planted_by_firmware() {
  return {
      {"one checksum in five is wrong",
       Kind::checksum,
       0x1A4,
       {},
       [](Messages&, Messages& b, Random& random) {
         MessageSeries& series = message(b, 0x1A4);
         for (std::size_t i = 0; i < series.size(); ++i) {
           if (random() % 5 == 0) series.bytes[i * 8 + 7] ^= 0x24U;
         }
       }},
      {"a checksum is no longer sent",
       Kind::checksum,
       0x1A4,
       {{Kind::all_ones, 0x1A4}},
       [](Messages&, Messages& b, Random&) {
         MessageSeries& series = message(b, 0x1A4);
         for (std::size_t i = 0; i < series.size(); ++i) series.bytes[i * 8 + 7] = 0;
       }},
      {"a field's bytes are the other way round",
       Kind::rest,
       0x1A4,
       {{Kind::moves, 0x1A4}, {Kind::constant, 0x1A4}},
       [](Messages&, Messages& b, Random&) {
         edit(b, 0x1A4, [](std::size_t, Row row) { std::swap(row[2], row[3]); });
       }},
      {"a voltage comes in ten times finer steps",
       Kind::rest,
       0x1A4,
       {{Kind::moves, 0x1A4}, {Kind::constant, 0x1A4}, {Kind::noise, 0x1A4}},
       [](Messages&, Messages& b, Random&) {
         const Span voltage = *parse_span("2.7..3.0");
         edit(b, 0x1A4,
              [&](std::size_t, Row row) { insert(voltage, extract(voltage, row) * 10, row); });
       }},
  };
}

std::vector<Planted> planted_by_parts() {
  return {
      {"a thermistor is open",
       Kind::all_ones,
       0x2C1,
       {},
       [](Messages&, Messages& b, Random&) {
         edit(b, 0x2C1, [](std::size_t, Row row) { row[0] = 0xFF; });
       }},
      {"the cells of a module read nothing",
       Kind::moves,
       0x1B0,
       {{Kind::constant, 0x1B0}, {Kind::rest, 0x1B0}},
       [](Messages&, Messages& b, Random&) {
         edit(b, 0x1B0, [](std::size_t, Row row) {
           if (row[0] == 3 || row[0] == 4) std::fill_n(row.begin() + 1, 6, std::uint8_t{0});
         });
       }},
      {"a lamp blinks",
       Kind::moves,
       0x2D0,
       {},
       [](Messages&, Messages& b, Random&) {
         edit(b, 0x2D0, [](std::size_t i, Row row) {
           row[0] = static_cast<std::uint8_t>((row[0] & 0xFEU) | (i % 11 < 3 ? 1 : 0));
         });
       }},
      {"two cells are exchanged",
       Kind::rest,
       0x1B0,
       {{Kind::constant, 0x1B0}, {Kind::moves, 0x1B0}},
       [](Messages&, Messages& b, Random&) {
         edit(b, 0x1B0, [](std::size_t, Row row) {
           if (row[0] != 5) return;
           std::swap(row[1], row[5]);
           std::swap(row[2], row[6]);
         });
       }},
  };
}

}  // namespace foundling::test
