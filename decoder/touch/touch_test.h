// A touch test: somebody brings a thing back and forth between two states whenever told, at drawn
// moments, and what answers is found among all bits, small fields and messages. Each candidate's
// evidence (evidence.h) is weighed with a share of 1 given out beforehand, so that the chance that
// any of them ever looks as good is no more than what is said. Pure; owns what moved in each turn.
#pragma once

#include <cstdint>
#include <map>
#include <span>
#include <vector>

#include "decoder/touch/candidates.h"
#include "decoder/touch/evidence.h"

namespace foundling::touch {

struct Told {  // of a turn
  double before = 0, after = 0;
};

struct Entry {
  double log_share = 0;
  History history;
  std::vector<Told> told;  // as history
};
using Entries = std::map<Candidate, Entry>;

class TouchTest {
 public:
  TouchTest(const Timing& timing, Selectors selectors, std::span<const Frame> before);

  // A turn's frames, at least those of its window.
  void add(std::span<const Frame> frames, std::int64_t start_ns, const Draw& draw);
  // The last turn that still counts. Not where there is none.
  bool take_back();

  [[nodiscard]] const Entries& entries() const { return entries_; }
  [[nodiscard]] const std::vector<Draw>& draws() const { return draws_; }
  [[nodiscard]] const Timing& timing() const { return timing_; }
  [[nodiscard]] int counted() const;  // turns that were not taken back

 private:
  void give_shares(const std::vector<Trace>& traces);

  Timing timing_;
  Selectors selectors_;
  Known known_;
  std::vector<Draw> draws_;
  Entries entries_;
};

}  // namespace foundling::touch
