// `foundling bench plan` and `foundling bench check`.
#include <unistd.h>

#include <filesystem>
#include <iostream>
#include <memory>
#include <optional>
#include <random>
#include <sstream>
#include <string>

#include "decoder/bench/cautions.h"
#include "decoder/bench/draw.h"
#include "decoder/bench/judge.h"
#include "decoder/bench/plan_text.h"
#include "decoder/report/paragraph.h"
#include "decoder/report/plan_report.h"
#include "tools/bench.h"
#include "tools/command_line.h"
#include "tools/files/target.h"
#include "tools/plan_file.h"
#include "tools/shown_streams.h"
#include "tools/text_file.h"
#include "tools/text_width.h"

namespace foundling {
namespace {

struct Wanted {
  std::string file;
  std::optional<std::uint64_t> seed;
  std::string into;
  bool again = false;
};

int fail(const std::string& message) {
  std::cerr << "foundling bench: error: " << message << '\n';
  return exit_trouble;
}

std::uint64_t fresh_seed() {
  std::random_device device;
  return device() & 0x7FFFFFFFU;
}

// A person's lines are not written over unasked.
Result<void> check_target(const Wanted& wanted, const bench::Plan& plan) {
  if (wanted.into.empty()) return {};
  std::error_code none;
  const bool there = std::filesystem::exists(wanted.into, none);
  const bool same = there && std::filesystem::equivalent(wanted.into, wanted.file, none);
  if (same && !plan.steps.empty() && !wanted.again) {
    return Error{ErrorCode::exists, wanted.into + ": has steps already; --again draws new ones"};
  }
  if (there && !same && !wanted.again) {
    return Error{ErrorCode::exists, wanted.into + ": is there already; --again writes over it"};
  }
  return check_replaceable(wanted.into);
}

void put_cautions_above_steps(bench::Plan& plan) {
  auto& above = plan.steps.front().remarks[""].above;
  above = {""};
  std::istringstream lines(paragraph(bench::cautions, 0, line_width - 2, 0));
  for (std::string line; std::getline(lines, line);) above.push_back("# " + line);
}

int draw(const Wanted& wanted) {
  const auto file = load_plan_file(wanted.file, std::cerr);
  if (!file) return fail(file.error().message);
  if (const auto good = check_target(wanted, file->plan); !good) return fail(good.error().message);
  const std::uint64_t seed = wanted.seed.value_or(fresh_seed());
  auto drawn = bench::draw_plan(file->plan, seed);
  if (!drawn) return fail(wanted.file + ": " + drawn.error().message);
  bench::Plan& plan = drawn->plan;
  put_cautions_above_steps(plan);
  std::cerr << paragraph(bench::cautions, 0, text_width(STDERR_FILENO), 0);
  std::cerr << '\n' << plan_report(plan, bench::judge(plan), text_width(STDERR_FILENO));
  if (drawn->levels_cut > 0) {
    std::cerr << "to keep the time, no channel has more than " << drawn->levels_cut << " levels\n";
  }
  if (drawn->repeat_cut > 0) {
    std::cerr << "to keep the time, levels come " << drawn->repeat_cut << " time"
              << (drawn->repeat_cut == 1 ? "" : "s") << " only\n";
  }
  const std::string text = bench::write_plan(plan);
  if (wanted.into.empty()) {
    put_exactly(text);
    return exit_good;
  }
  const auto written = replace_text_file(wanted.into, text);
  if (!written) return fail(written.error().message);
  std::cerr << wanted.into << ": written, seed " << seed << '\n';
  return exit_good;
}

int check(const Wanted& wanted) {
  const auto file = load_plan_file(wanted.file, std::cerr);
  if (!file) return fail(file.error().message);
  if (file->plan.steps.empty()) {
    std::cout << wanted.file << ": good, " << file->plan.channels.size()
              << " channels and series, no steps yet\n";
    return exit_good;
  }
  std::cout << wanted.file << ": good\n"
            << plan_report(file->plan, bench::judge(file->plan), text_width(STDOUT_FILENO));
  return exit_good;
}

}  // namespace

void declare_bench_plan(CommandLine app, BenchRun& chosen) {
  auto wanted = std::make_shared<Wanted>();
  CommandLine sub = app.add_verb("plan", "Draw a plan from what can be moved");
  sub.add_option("FILE", wanted->file,
                 "What can be moved: channels, limits, settling, time; - is stdin")
      .required();
  sub.add_option("--seed", wanted->seed, "Of the draw; default a fresh one, written in the plan")
      .type_name("N");
  sub.add_option("--into", wanted->into, "Write the plan here; default is to print it")
      .type_name("PLAN");
  sub.add_flag("--again", wanted->again, "Write over steps or a file that is there already");
  sub.footer(
      "Every channel goes through its levels in an order of its own, all at once: balanced, "
      "random,\n"
      "nearly orthogonal, small steps first, never beyond the limits. Which channels "
      "the plan\n"
      "can and cannot distinguish, and how long it takes, is said on stderr.\n"
      "\n"
      "Example: draw a plan for the invented tractor's bench\n"
      "  foundling bench plan captures_demo/tractor.bench --seed 4711 --into tractor.plan");
  sub.when_chosen([&chosen, wanted] { chosen = [wanted] { return draw(*wanted); }; });
}

void declare_bench_check(CommandLine app, BenchRun& chosen) {
  auto wanted = std::make_shared<Wanted>();
  CommandLine sub = app.add_verb(
      "check", "Check a plan against its limits, and say which channels it can distinguish");
  sub.add_option("FILE", wanted->file, "A bench plan; - is stdin").required();
  sub.footer(
      "Exit status 2 means that the plan contradicts itself.\n"
      "\n"
      "Example: after editing a plan\n"
      "  foundling bench check tractor.plan");
  sub.when_chosen([&chosen, wanted] { chosen = [wanted] { return check(*wanted); }; });
}

}  // namespace foundling
