// A random pack and its board: cells that go up and down together with a load, single ones of them
// now and then by themselves, the pack's voltage, a current, walks, noise and slow drifts. What the
// board says of the pack's voltage is the cells' sum, or a quantity of its own that moves as much.
#pragma once

#include <cstdint>
#include <random>
#include <vector>

#include "schemas/values/frame.h"
#include "schemas/values/reading.h"
#include "schemas/values/span.h"

namespace foundling::relate {

struct RelatedBoardKind {
  bool has_sum = true;
  int cells = 12;
  int moved = 12;  // cells that move by themselves
  double seconds = 180;
  int readings = 6;  // of the pack's voltage
  double wire = 0;   // ohm between the cells and the meter
  bool switched =
      false;  // sends the voltage behind a switch, a temperature and its warning as well
};

struct CellPlace {
  CanId id;
  Span span;
};

class RelatedBoard {
 public:
  RelatedBoard(std::uint64_t seed, RelatedBoardKind kind);

  std::vector<MessageSeries> messages;
  std::vector<ChannelSeries> channels;  // pack_voltage, pack_current
  std::vector<CellPlace> cells;
  CellPlace total;
  double scale = 0.001;       // V a code of a cell
  double total_scale = 0.01;  // V a code of the total

 private:
  double uniform(double low, double high);
  double normal();
  void draw_paths(const RelatedBoardKind& kind);
  void send_cells();
  void send_total();
  void send_decoys();
  void send_switched();
  void read_meter(const RelatedBoardKind& kind);
  void add(std::uint32_t id, double period_s, double delay_s,
           const std::vector<std::vector<double>>& paths, const std::vector<double>& scales,
           const std::vector<double>& noises);

  std::mt19937_64 random_;
  ByteOrder order_ = ByteOrder::big;
  std::vector<std::vector<double>> cell_paths_;  // every 10 ms
  std::vector<double> current_, whole_, own_;    // own_: another quantity that moves as much
  bool has_sum_ = true;
};

}  // namespace foundling::relate
