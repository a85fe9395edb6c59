// The hand at a rehearsal: sets the simulated board's terminals as `foundling bench run` asks a
// person to, and as what was written down says. It reads what the walk leaves in the capture (the
// plan, the steps, the readings) and nothing else, so it can begin and end at any time. Pure.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "decoder/bench/plan.h"
#include "schemas/capture/rows.h"
#include "tools/board/inputs.h"

namespace foundling {

class RehearsalHand {
 public:
  RehearsalHand();  // everything at rest, as a board on the bench before anybody touched it

  // All marks and readings of the session.
  void look(const std::vector<StoredMark>& marks, const std::vector<StoredReading>& readings);
  [[nodiscard]] const board::Inputs& terminals() const { return terminals_; }
  // What was set since the last call, in words, and what this board has no terminal for.
  [[nodiscard]] std::vector<std::string> news();

 private:
  struct Asked;
  [[nodiscard]] Asked asked_now(const std::vector<StoredMark>& marks);
  void set(const Channel& channel, double value, const std::string& word);

  std::string plan_text_;
  bench::Plan plan_;
  board::Inputs terminals_;
  std::string last_asked_;
  std::vector<std::string> unknown_;  // each is told once
  std::vector<std::string> news_;
};

}  // namespace foundling
