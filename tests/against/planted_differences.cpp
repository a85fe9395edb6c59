#include "tests/against/planted_differences.h"

#include <algorithm>

#include "schemas/values/span.h"

namespace foundling::test {
namespace {

using Kind = DifferenceKind;
using Random = std::mt19937_64;

int below(int limit, Random& random) {
  return static_cast<int>(random() % static_cast<std::uint64_t>(limit));
}

void add_to(const char* span_text, int amount, Row row) {
  const Span span = *parse_span(span_text);
  insert(span, extract(span, row) + static_cast<std::uint64_t>(std::int64_t{amount}), row);
}

void set(const char* span_text, std::uint64_t code, Row row) {
  insert(*parse_span(span_text), code, row);
}

std::vector<Planted> of_timing() {
  return {
      {"a message is gone",
       Kind::only_in_one,
       0x18FF52E5,
       {},
       [](Messages&, Messages& b, Random&) {
         std::erase_if(b, [](const auto& m) { return m.id.number() == 0x18FF52E5; });
       }},
      {"a message is new",
       Kind::only_in_one,
       0x051,
       {},
       [](Messages& a, Messages&, Random&) {
         std::erase_if(a, [](const auto& m) { return m.id.number() == 0x051; });
       }},
      {"a message went to the other bus",
       Kind::only_in_one,
       0x2C1,
       {},
       [](Messages&, Messages& b, Random&) { message(b, 0x2C1).bus = 1; }},
      {"a period doubled",
       Kind::period,
       0x2C1,
       {},
       [](Messages&, Messages& b, Random&) {
         keep(message(b, 0x2C1), [](std::size_t i) { return i % 2 == 0; });
       }},
      {"a period is a twentieth longer",
       Kind::period,
       0x18FF50E5,
       {},
       [](Messages&, Messages& b, Random&) {
         const double start = start_s(b);
         MessageSeries& series = message(b, 0x18FF50E5);
         const std::int64_t end = series.t_ns.back();
         retime(series, [start](std::size_t, double t) { return start + (t - start) * 1.05; });
         keep(series, [&](std::size_t i) { return series.t_ns[i] <= end; });
       }},
      {"a message comes unevenly",
       Kind::jitter,
       0x18FF51E5,
       {},
       [](Messages&, Messages& b, Random& random) {
         std::normal_distribution<double> late(0, 0.012);
         retime(message(b, 0x18FF51E5),
                [&](std::size_t, double t) { return t + std::clamp(late(random), -0.03, 0.03); });
       }},
      {"a message left the clock",
       Kind::regularity,
       0x2C1,
       {},
       [](Messages&, Messages& b, Random& random) {
         const std::vector<double> times = random_times(b, 11, random);
         MessageSeries& series = message(b, 0x2C1);
         keep(series, [&](std::size_t i) { return i < times.size(); });
         retime(series, [&](std::size_t i, double) { return times[i]; });
       }},
      {"events come more often",
       Kind::rate,
       0x6A1,
       {},
       [](Messages& a, Messages& b, Random& random) {
         add_message(a, 0x6A1, random_times(a, 8, random), [](std::size_t, Row) {});
         add_message(b, 0x6A1, random_times(b, 40, random), [](std::size_t, Row) {});
       }},
      {"the whole bus fell silent for three seconds",
       Kind::silence,
       0,
       {},
       [](Messages&, Messages& b, Random& random) {
         const double from = start_s(b) + 8 + below(10, random);
         for (MessageSeries& series : b) {
           keep(series, [&](std::size_t i) {
             const double t = static_cast<double>(series.t_ns[i]) / 1e9;
             return t < from || t > from + 3;
           });
         }
       }},
      {"a message stopped",
       Kind::silence,
       0x2C1,
       {},
       [](Messages&, Messages& b, Random&) {
         MessageSeries& series = message(b, 0x2C1);
         const std::size_t end = series.size() * 2 / 3;
         keep(series, [end](std::size_t i) { return i < end; });
       }},
  };
}

std::vector<Planted> of_form() {
  return {
      {"a message is shorter",
       Kind::length,
       0x18FF52E5,
       {},
       [](Messages&, Messages& b, Random&) { shorten(message(b, 0x18FF52E5), 3); }},
      {"a message has several lengths",
       Kind::lengths,
       0x18FF51E5,
       {},
       [](Messages&, Messages& b, Random& random) {
         MessageSeries& series = message(b, 0x18FF51E5);
         for (std::size_t i = 0; i < series.size(); ++i) {
           series.lengths.push_back(below(3, random) == 0 ? 7 : 8);
           if (series.lengths.back() == 7) series.bytes[i * 8 + 7] = 0;
         }
       }},
      {"a page is gone",
       Kind::page,
       0x051,
       {},
       [](Messages&, Messages& b, Random&) {
         MessageSeries& series = message(b, 0x051);
         const std::vector<std::uint8_t> bytes = series.bytes;
         edit(b, 0x051, [&](std::size_t i, Row row) {
           const std::size_t from = i < 4 ? i + 4 : i - 4;
           if (row[0] != 3) return;
           std::size_t other = from;
           while (bytes[other * 8] != 1) ++other;
           std::copy_n(bytes.begin() + static_cast<std::ptrdiff_t>(other * 8), 8, row.begin());
         });
       }},
      {"a page has another number",
       Kind::page,
       0x051,
       {},
       [](Messages&, Messages& b, Random&) {
         edit(b, 0x051, [](std::size_t, Row row) {
           if (row[0] == 2) row[0] = 4;
         });
       }},
      {"a message has no pages any more",
       Kind::selector,
       0x1B0,
       {},
       [](Messages&, Messages& b, Random&) {
         edit(b, 0x1B0, [](std::size_t, Row row) { row[0] = 7; });
       }},
      {"a counter stands still",
       Kind::counter,
       0x1A4,
       {},
       [](Messages&, Messages& b, Random&) {
         edit(b, 0x1A4, [](std::size_t, Row row) { set("6.3..6.0", 5, row); });
       }},
      {"a counter skips no value any more",
       Kind::counter,
       0x2D0,
       {},
       [](Messages&, Messages& b, Random&) {
         edit(b, 0x2D0, [](std::size_t i, Row row) { set("6.3..6.0", i % 16, row); });
       }},
      {"a counter goes down",
       Kind::counter,
       0x080,
       {},
       [](Messages&, Messages& b, Random&) {
         edit(b, 0x080, [](std::size_t i, Row row) { row[0] = static_cast<std::uint8_t>(~i); });
       }},
      {"a checksum goes by another formula",
       Kind::checksum,
       0x1A4,
       {},
       [](Messages&, Messages& b, Random&) {
         MessageSeries& series = message(b, 0x1A4);
         for (std::size_t i = 0; i < series.size(); ++i) series.bytes[i * 8 + 7] ^= 0x5AU;
       }},
      {"a checksum is random",
       Kind::checksum,
       0x2D0,
       {},
       [](Messages&, Messages& b, Random& random) {
         MessageSeries& series = message(b, 0x2D0);
         for (std::size_t i = 0; i < series.size(); ++i) {
           series.bytes[i * 8 + 7] = static_cast<std::uint8_t>(below(256, random));
         }
       }},
      {"a message carries segmented transport",
       Kind::transport,
       0x7E8,
       {},
       [](Messages& a, Messages& b, Random& random) {
         const auto times_a = random_times(a, 10, random);
         std::vector<double> times_b;  // three segments a payload, 5 ms apart
         for (const double t : random_times(b, 3, random)) {
           if (!times_b.empty() && t < times_b.back() + 0.02) continue;
           for (const double segment : {0.0, 0.005, 0.010}) times_b.push_back(t + segment);
         }
         add_message(a, 0x7E8, times_a, [&](std::size_t, Row row) {
           row[0] = static_cast<std::uint8_t>(0x50 + below(100, random));
         });
         add_message(b, 0x7E8, times_b, [&](std::size_t i, Row row) {
           constexpr std::array<std::uint8_t, 3> kinds{0x10, 0x21, 0x22};
           for (std::uint8_t& byte : row) byte = static_cast<std::uint8_t>(below(256, random));
           row[0] = kinds[i % 3];
           if (i % 3 == 0) row[1] = 0x14;
         });
       }},
  };
}

std::vector<Planted> of_values() {
  return {
      {"a constant byte has another value",
       Kind::constant,
       0x2C1,
       {{Kind::rest, 0x2C1}},  // joined with what moves beside it
       [](Messages&, Messages& b, Random&) {
         edit(b, 0x2C1, [](std::size_t, Row row) { row[7] = 0x5B; });
       }},
      {"a letter of the name is another one",
       Kind::constant,
       0x051,
       {},
       [](Messages&, Messages& b, Random&) {
         edit(b, 0x051, [](std::size_t, Row row) {
           if (row[0] == 2) row[3] = 'Z';
         });
       }},
      {"a switch is in the other place",
       Kind::constant,
       0x2D0,
       {},
       [](Messages&, Messages& b, Random&) {
         edit(b, 0x2D0, [](std::size_t, Row row) { row[0] ^= 1U; });
       }},
      {"a cell went missing",
       Kind::all_ones,
       0x1B0,
       {},
       [](Messages&, Messages& b, Random&) {
         edit(b, 0x1B0, [](std::size_t, Row row) {
           if (row[0] == 4) set("4.7..3.0", 0xFFFF, row);
         });
       }},
      {"a value froze",
       Kind::moves,
       0x3E0,
       {{Kind::constant, 0x3E0}},  // its upper bits had stood elsewhere
       [](Messages&, Messages& b, Random&) {
         edit(b, 0x3E0, [](std::size_t, Row row) { row[4] = 77; });
       }},
      {"a constant moves",
       Kind::moves,
       0x2C1,
       {},
       [](Messages&, Messages& b, Random& random) {
         edit(b, 0x2C1, [&](std::size_t, Row row) {
           row[7] = static_cast<std::uint8_t>(0x50 + below(12, random));
         });
       }},
      {"the beating bit stands still",
       Kind::moves,
       0x2D0,
       {},
       [](Messages&, Messages& b, Random&) {
         edit(b, 0x2D0, [](std::size_t, Row row) { row[0] &= 0xBFU; });
       }},
      {"a cell rests forty millivolts higher",
       Kind::rest,
       0x1B0,
       {{Kind::constant, 0x1B0}, {Kind::noise, 0x1B0}},
       [](Messages&, Messages& b, Random&) {
         edit(b, 0x1B0, [](std::size_t, Row row) {
           if (row[0] == 1) add_to("4.7..3.0", 40, row);
         });
       }},
      {"the pack's voltage rests lower",
       Kind::rest,
       0x1A4,
       {},
       [](Messages&, Messages& b, Random&) {
         edit(b, 0x1A4, [](std::size_t, Row row) { add_to("2.7..3.0", -300, row); });
       }},
      {"a current is noisy",
       Kind::noise,
       0x1A4,
       {},
       [](Messages&, Messages& b, Random& random) {
         edit(b, 0x1A4,
              [&](std::size_t, Row row) { add_to("0.7..1.0", below(81, random) - 40, row); });
       }},
  };
}

// The board began anew at this time: uptime and counters from zero.
void reset_at(Messages& messages, double t_s) {
  const auto since = [&](std::uint32_t number) {
    const auto& times = message(messages, number).t_ns;
    return std::lower_bound(times.begin(), times.end(), static_cast<std::int64_t>(t_s * 1e9)) -
           times.begin();
  };
  const auto uptime = message(messages, 0x3E0).t_ns;
  edit(messages, 0x3E0, [&](std::size_t i, Row row) {
    const double up_s = static_cast<double>(uptime[i]) / 1e9 - t_s;
    if (up_s >= 0) set("3.7..0.0", static_cast<std::uint64_t>(up_s * 1000), row);
  });
  const struct {
    std::uint32_t number;
    const char* span;
    std::size_t modulus;
  } counters[] = {{0x1A4, "6.3..6.0", 16}, {0x2D0, "6.3..6.0", 15}, {0x080, "0.7..0.0", 256}};
  for (const auto& c : counters) {
    const auto first = static_cast<std::size_t>(since(c.number));
    edit(messages, c.number, [&](std::size_t i, Row row) {
      if (i >= first) set(c.span, (i - first) % c.modulus, row);
    });
  }
}

std::vector<Planted> of_counts() {
  return {
      {"the board was switched off and on between",
       Kind::restarted,
       0x3E0,
       {},
       [](Messages& a, Messages& b, Random&) {
         // Both recordings began soon after: nothing else tells which is the older one.
         const Span uptime = *parse_span("3.7..0.0");
         for (Messages* messages : {&a, &b}) {
           const std::uint64_t first = extract(uptime, message(*messages, 0x3E0).row(0)) - 2000;
           edit(*messages, 0x3E0,
                [&](std::size_t, Row row) { insert(uptime, extract(uptime, row) - first, row); });
         }
       }},
      {"the board was reset",
       Kind::reset,
       0,
       {},
       [](Messages&, Messages& b, Random& random) {
         reset_at(b, start_s(b) + 10 + below(8, random));
       }},
  };
}

}  // namespace

std::vector<Planted> planted_differences() {
  std::vector<Planted> all = of_timing();
  for (const auto& part : {of_form(), of_values(), of_counts(), planted_by_wiring(),
                           planted_by_firmware(), planted_by_parts()}) {
    all.insert(all.end(), part.begin(), part.end());
  }
  return all;
}

}  // namespace foundling::test
