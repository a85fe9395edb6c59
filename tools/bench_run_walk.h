// Walks a person through a bench plan: what to set, wait, what the meter shows, step after step;
// back, skip, redo, pause; and writes it all into the running capture, from which it also knows
// where it was when it is begun again.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "decoder/bench/plan.h"
#include "schemas/values/result.h"
#include "tools/bench_run_asked.h"
#include "tools/bench_run_book.h"
#include "tools/bench_run_input.h"
#include "tools/bench_run_progress.h"
#include "tools/bench_run_settling.h"
#include "tools/bench_run_values.h"

namespace foundling {

class BenchWalk {
 public:
  // All must outlive it; `live` may be null: then time alone tells when things have settled.
  BenchWalk(const bench::Plan& plan, std::string plan_text, const RunValues& values, RunBook& book,
            RunInput& input, LiveChannels* live);

  // The cautions, then the steps that are left, then to rest. `anew`: from step 1, whatever was
  // done. An error: what went wrong, with its place; what was recorded stays.
  Result<void> run(bool anew);

 private:
  enum class Next { on, resumed, back, skip, again, quit };

  Result<Next> cautions();
  Result<Next> rest(const std::string& words, std::string_view mark);
  Result<Next> still_so();
  Result<Next> step(std::size_t index);
  Result<Next> set(const bench::Setting& setting);
  Result<Next> hold(const bench::Step& step);
  void ask_for(const std::vector<std::string>& channels);
  // Since when what is asked for next was asked for, before this walk was left.
  [[nodiscard]] std::optional<std::int64_t> asked_before(const RunProgress& progress) const;
  // Until Enter, or quit.
  Result<Next> wait(const std::string& prompt);
  // Of what can be typed in a step. `resumed`: it was paused.
  Result<Next> command(const RunLine& line, bool& is_command);
  // Help and notes, which can be typed wherever something is asked. Whether it was one.
  Result<bool> aside(const RunLine& line);
  void say_not_written(const bench::Setting& setting);
  Result<void> take_value(const bench::Setting& setting, const RunLine& line);
  Result<void> take_measured(const bench::Step& step, std::int64_t from_ns);
  Result<void> finish_step(int number, Next next);
  [[nodiscard]] bool all_still(const bench::Step& step, std::int64_t window_ns) const;
  [[nodiscard]] bool can_be_watched(const bench::Step& step) const;
  [[nodiscard]] double settling_s(const bench::Step& step) const;
  [[nodiscard]] std::string time_left(std::size_t index) const;
  // A mistake at a terminal is told and asked again; in a script it ends the run.
  Result<void> complain(const Error& error, const RunLine& line);

  const bench::Plan& plan_;
  const std::string plan_text_;
  const RunValues& values_;
  RunBook& book_;
  RunInput& input_;
  LiveChannels* const live_;
  AskedSince asked_;
  std::optional<std::int64_t> asked_before_ns_;
  std::vector<RunEntry> written_;   // in this step
  std::vector<std::string> typed_;  // channels whose value the person typed in this step
};

}  // namespace foundling
