// The text of bench plans: any bytes are read to an end, with messages or without. What was read
// without errors is written, read again, and written the same; it is judged; and its upper half is
// drawn from, where the draw must keep to the plan's own check.
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "decoder/bench/check_plan.h"
#include "decoder/bench/draw.h"
#include "decoder/bench/judge.h"
#include "decoder/bench/plan_text.h"

namespace {

// What takes long by itself is left to the tests.
bool is_small(const foundling::bench::Plan& plan) {
  std::size_t members = 0;
  for (const auto& channel : plan.channels) {
    members += foundling::bench::members(channel).size();
    if (channel.levels.value_or(0) > 50 || channel.repeat.value_or(0) > 10) return false;
    if (channel.words.size() > 50) return false;
    // A jump of a millionth of the range asks for a million steps on the way.
    if (channel.jump && *channel.jump < 0.01 * (channel.high - channel.low)) return false;
  }
  return members > 0 && members <= 12;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace foundling;
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const bench::PlanText read = bench::read_plan(text);
  (void)describe(read.diagnostics, "input", text);
  if (!read.ok()) return 0;
  const std::string written = bench::write_plan(read.plan);
  const bench::PlanText again = bench::read_plan(written);
  if (!again.ok() || bench::write_plan(again.plan) != written) std::abort();
  (void)bench::judge(read.plan);
  if (!is_small(read.plan)) return 0;
  const auto drawn = bench::draw_plan(read.plan, 1);
  if (drawn && has_errors(bench::check_plan(drawn->plan))) std::abort();
  return 0;
}
