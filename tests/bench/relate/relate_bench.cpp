// How much of a board follows from its own physics: relations on the recovery bench's random
// boards, whose stimuli are withheld, and on the same boards with every relation cut.
//   relate_bench --families plain-big,paged --seeds 20 --first-seed 1 [--cut]
#include <CLI/CLI.hpp>
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <random>
#include <sstream>
#include <string>
#include <string_view>
#include <utility>

#include "decoder/relate/relate.h"
#include "tests/bench/recovery/random_board.h"

using namespace foundling;
using namespace foundling::recovery;

namespace {

struct Counts {
  int boards = 0;
  int claims = 0;  // strong
  int wrong = 0;   // of them
  int cells = 0;   // that moved, on boards whose sum is sent
  int found = 0;
  int to_scale = 0;  // of them, within 0.5 %
  int in_interval = 0;
};

bool is_field(const FieldPlace& place, const TrueField& truth) {
  return place.id == truth.id && place.bus == truth.bus && place.span.lsb == truth.span.lsb &&
         (!truth.page || (place.page && place.page->value == truth.page->value));
}

// The name of what a place says, empty where it is nothing whole.
std::string name_at(const FieldPlace& place, const Truth& truth) {
  for (const TrueField& field : truth.computed) {
    if (is_field(place, field)) return field.quantity;
  }
  for (const TrueChannel& channel : truth.channels) {
    for (const TrueField& field : channel.fields) {
      if (is_field(place, field)) return channel.name;
    }
  }
  for (const TrueField& field : truth.others) {
    if (is_field(place, field)) return field.quantity;
  }
  return {};
}

// The same codes in the other order of time: as much motion, and nothing goes with it.
void turn_round(RandomBoard& board, const TrueField& field) {
  const auto message = std::ranges::find_if(board.messages, [&](const MessageSeries& m) {
    return m.id == field.id && m.bus == field.bus;
  });
  if (message == board.messages.end()) return;
  std::vector<std::size_t> rows;
  for (std::size_t i = 0; i < message->size(); ++i) {
    if (!field.page || extract(field.page->span, message->row(i)) == field.page->value) {
      rows.push_back(i);
    }
  }
  for (std::size_t i = 0; i < rows.size() / 2; ++i) {
    const auto bytes = [&](std::size_t row) {
      return std::span(message->bytes).subspan(row * message->length, message->length);
    };
    const auto early = bytes(rows[i]);
    const auto late = bytes(rows[rows.size() - 1 - i]);
    const std::uint64_t code = extract(field.span, early);
    insert(field.span, extract(field.span, late), early);
    insert(field.span, code, late);
  }
}

// A check code that does not fit any more is still a sum of what was not turned round.
void clear_checks(RandomBoard& board) {
  for (std::size_t m = 0; m < board.messages.size(); ++m) {
    MessageSeries& message = board.messages[m];
    for (const TrueChecksum& check : board.truth.messages[m].checksums) {
      for (std::size_t i = 0; i < message.size(); ++i) {
        insert(check.span, 0, std::span(message.bytes).subspan(i * message.length, message.length));
      }
    }
  }
}

void cut_relations(RandomBoard& board) {
  for (const TrueField& field : board.truth.computed) turn_round(board, field);
  for (const TrueChannel& channel : board.truth.channels) {
    for (std::size_t i = 1; i < channel.fields.size(); ++i) turn_round(board, channel.fields[i]);
  }
  clear_checks(board);
}

// A person reads the pack's voltage six times, at moments at which the cells have rested for four
// seconds and that lie apart in the sum: at its lowest and highest, and between. Known as
// well as the bench's other readings are: to 0.02 % of the range.
ChannelSeries pack_voltage_read(const std::vector<double>& sum, std::uint64_t seed) {
  constexpr std::size_t rest = 40;  // tenths of a second
  constexpr int readings = 6;
  std::vector<std::pair<double, std::size_t>> moments;
  for (std::size_t i = rest; i + rest / 2 < sum.size(); ++i) {
    const auto near = std::span(sum).subspan(i - rest, rest + rest / 2);
    const auto [low, high] = std::ranges::minmax(near);
    if (high - low < 1e-4 * std::abs(high)) moments.emplace_back(sum[i], i);
  }
  std::ranges::sort(moments);
  ChannelSeries channel;
  channel.channel.name = "pack_voltage";
  channel.channel.unit = "V";
  if (moments.empty()) return channel;
  std::mt19937_64 random(seed);
  std::normal_distribution<double> normal;
  for (int i = 0; i < readings; ++i) {
    const auto& [value, at] =
        moments[(moments.size() - 1) * static_cast<std::size_t>(i) / (readings - 1)];
    Reading reading;
    reading.t_ns = static_cast<std::int64_t>(at) * 100'000'000;
    reading.uncertainty = 2e-4 * (moments.back().first - moments.front().first);
    reading.value = value + reading.uncertainty * normal(random);
    channel.readings.push_back(reading);
  }
  std::ranges::sort(channel.readings, {}, &Reading::t_ns);
  return channel;
}

bool is_true_sum(const relate::Relations& found, const relate::SumRelation& sum,
                 const Truth& truth) {
  const std::string total = name_at(found.fields[sum.total].place, truth);
  if (total != "cells_sum" && total != "cells_mean") return false;
  return std::ranges::all_of(sum.shown, [&](std::size_t f) {
    return name_at(found.fields[f].place, truth).starts_with("cell_");
  });
}

bool is_true_extreme(const relate::Relations& found, const relate::ExtremeRelation& one,
                     const Truth& truth) {
  const std::string name = name_at(found.fields[one.field].place, truth);
  return (one.kind == relate::ExtremeKind::lowest && name == "cells_least") ||
         (one.kind == relate::ExtremeKind::highest && name == "cells_greatest");
}

bool is_true_pair(const relate::Relations& found, const relate::PairRelation& one,
                  const Truth& truth) {
  const std::string field = name_at(found.fields[one.field].place, truth);
  const std::string of = name_at(found.fields[one.of].place, truth);
  const std::string other = name_at(found.fields[one.other].place, truth);
  if (one.kind == relate::PairKind::product) {
    return field == "power" && (of == "pack_current" || other == "pack_current");
  }
  if (one.kind == relate::PairKind::integral) return field == "charge" && of == "pack_current";
  return field == of && !field.empty();
}

void count(const relate::Relations& found, const RandomBoard& board, Counts& counts, bool say) {
  const auto claim = [&](bool strong, bool right, const char* what, std::size_t field) {
    if (!strong) return;
    ++counts.claims;
    counts.wrong += right ? 0 : 1;
    if (right || !say) return;
    const FieldPlace& place = found.fields[field].place;
    std::printf("  wrong %s at %X %s (%s)\n", what, place.id.number(),
                to_string(place.span).c_str(), name_at(place, board.truth).c_str());
  };
  for (const auto& sum : found.sums) {
    claim(sum.strong, is_true_sum(found, sum, board.truth), "sum", sum.total);
  }
  for (const auto& one : found.extremes) {
    claim(one.strong, is_true_extreme(found, one, board.truth), "extreme", one.field);
  }
  for (const auto& one : found.pairs) {
    const bool right = is_true_pair(found, one, board.truth);
    claim(one.strong, right, "pair", one.field);
    if (one.strong && !right && say) {
      std::printf("    of %s and %s, kind %d, r2 %.5f, chance %.2g\n",
                  name_at(found.fields[one.of].place, board.truth).c_str(),
                  name_at(found.fields[one.other].place, board.truth).c_str(),
                  static_cast<int>(one.kind), one.r2, one.chance);
    }
  }
  // No board switches a voltage, or tells a limit by a bit: each such claim is wrong.
  for (const auto& one : found.gated) {
    claim(one.strong, false, "equality", one.field);
    if (!one.strong || !say) continue;
    const FieldPlace& bit = found.bits[one.bit].place;
    std::printf("    of %s, bit %X %s (%s), r2 %.5f, chances %.2g and %.2g, turns %zu\n",
                name_at(found.fields[one.of].place, board.truth).c_str(), bit.id.number(),
                to_string(bit.span).c_str(), name_at(bit, board.truth).c_str(), one.r2,
                one.chance_equal, one.chance_bit, one.turns);
  }
  for (const auto& one : found.thresholds) claim(one.strong, false, "threshold", one.field);
  const bool has_sum = std::ranges::any_of(
      board.truth.computed, [](const TrueField& f) { return f.quantity == "cells_sum"; });
  if (!has_sum) return;
  for (const TrueChannel& channel : board.truth.channels) {
    if (!channel.name.starts_with("cell_") || !channel.excited) continue;
    ++counts.cells;
    const bool there = !found.sums.empty() && found.sums.front().strong &&
                       std::ranges::any_of(found.sums.front().members, [&](std::size_t f) {
                         return is_field(found.fields[f].place, channel.fields.front());
                       });
    counts.found += there ? 1 : 0;
    if (!there || !found.scale) continue;
    const TrueField& field = channel.fields.front();
    const relate::SumScale& scale = *found.scale;
    counts.to_scale += std::abs(scale.scale / field.scale - 1) < 0.005 ? 1 : 0;
    const Interval& interval = scale.member_interval;
    counts.in_interval += interval.low <= field.scale && field.scale <= interval.high ? 1 : 0;
  }
}

void print(std::string_view name, const Counts& counts) {
  std::printf("| `%.*s` | %d | %d | %d | %d | %d | %d | %d |\n", static_cast<int>(name.size()),
              name.data(), counts.boards, counts.cells, counts.found, counts.to_scale,
              counts.in_interval, counts.claims, counts.wrong);
  std::fflush(stdout);
}

void say_shortfall(std::uint64_t seed, const Counts& before, const Counts& after) {
  const int cells = after.cells - before.cells;
  const int found = after.found - before.found;
  const int to_scale = after.to_scale - before.to_scale;
  const int in_interval = after.in_interval - before.in_interval;
  const int wrong = after.wrong - before.wrong;
  if (found == cells && to_scale == cells && in_interval == cells && wrong == 0) return;
  std::printf("  seed %llu: %d cells, %d found, %d to scale, %d in the interval, %d wrong\n",
              static_cast<unsigned long long>(seed), cells, found, to_scale, in_interval, wrong);
}

}  // namespace

int main(int argc, char** argv) {
  CLI::App app("Relations on random boards whose stimuli are withheld");
  std::string families;
  std::uint64_t seeds = 5;
  std::uint64_t first = 1;
  bool cut = false;
  bool failures = false;
  app.add_option("--families", families, "Default all undisturbed ones");
  app.add_option("--seeds", seeds, "Boards a family");
  app.add_option("--first-seed", first);
  app.add_flag("--cut", cut, "Cut every relation first: each claim is wrong then");
  app.add_flag("--failures", failures, "Say each wrong claim, and each board that falls short");
  CLI11_PARSE(app, argc, argv);
  std::vector<Family> chosen;
  std::istringstream names(families);
  for (std::string name; std::getline(names, name, ',');) {
    if (const auto family = family_named(name)) chosen.push_back(*family);
  }
  if (chosen.empty()) chosen = undisturbed_families();
  Counts all;
  for (const Family family : chosen) {
    Counts counts;
    for (std::uint64_t seed = first; seed < first + seeds; ++seed) {
      RandomBoard board = make_board(family, seed);
      if (cut) cut_relations(board);
      ++counts.boards;
      const ChannelSeries read[] = {pack_voltage_read(board.truth.cells_sum, seed)};
      const Counts before = counts;
      count(relate::find_relations(board.messages, survey(board.messages), read), board, counts,
            failures);
      if (failures) say_shortfall(seed, before, counts);
    }
    print(name_of(family), counts);
    all.boards += counts.boards;
    all.cells += counts.cells;
    all.found += counts.found;
    all.claims += counts.claims;
    all.wrong += counts.wrong;
    all.to_scale += counts.to_scale;
    all.in_interval += counts.in_interval;
  }
  print("all", all);
  return 0;
}
