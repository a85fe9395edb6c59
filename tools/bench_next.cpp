// `foundling bench next`: the shortest plan that settles what a search left open.
#include <unistd.h>

#include <cmath>
#include <iostream>
#include <memory>
#include <optional>
#include <string>

#include "decoder/analysis/survey.h"
#include "decoder/bench/cautions.h"
#include "decoder/bench/draw.h"
#include "decoder/bench/judge.h"
#include "decoder/bench/plan_text.h"
#include "decoder/draft/next_plan.h"
#include "decoder/report/paragraph.h"
#include "decoder/report/plan_report.h"
#include "decoder/transport/payloads.h"
#include "schemas/capture/capture_reader.h"
#include "tools/bench.h"
#include "tools/command_line.h"
#include "tools/plan_file.h"
#include "tools/recorded_plan.h"
#include "tools/recorded_session.h"
#include "tools/session_search.h"
#include "tools/shown_streams.h"
#include "tools/text_width.h"

namespace foundling {
namespace {

struct Wanted {
  std::string capture;
  std::optional<std::int64_t> session;
  std::string known;
  std::uint64_t seed = 1;
};

int fail(const std::string& message) {
  std::cerr << "foundling bench: error: " << message << '\n';
  return exit_trouble;
}

// The upper half of the plan that `bench run` walked through in that session.
Result<std::optional<bench::Plan>> plan_left_in(const std::string& capture, std::int64_t session) {
  auto reader = CaptureReader::open(capture);
  if (!reader) return reader.error();
  const auto marks = reader->marks(session);
  if (!marks) return marks.error();
  const auto text = recorded_plan(*marks);
  if (!text) return std::optional<bench::Plan>{};
  bench::PlanText read = bench::read_plan(*text);
  if (!read.ok()) {
    std::cerr << "foundling bench next: note: the capture's plan has errors and was not used\n";
    return std::optional<bench::Plan>{};
  }
  std::cerr << "limits: those of the plan in the capture\n";
  return std::optional(std::move(read.plan));
}

void say(const NextPlan& next, bool is_known) {
  const std::size_t width = text_width(STDERR_FILENO);
  for (const std::string& one : next.settles) std::cerr << paragraph("settles: " + one, 0, width);
  for (const std::string& one : next.remains) std::cerr << paragraph("remains: " + one, 0, width);
  if (!is_known && !next.plan.channels.empty()) {
    std::cerr << paragraph(
        "nothing goes further than it went in this session; --bench FILE says how far it may, and "
        "which cells move only in sets",
        0, width);
  }
}

int run(const Wanted& wanted) {
  bench::Plan known;
  if (!wanted.known.empty()) {
    auto file = load_plan_file(wanted.known, std::cerr);
    if (!file) return fail(file.error().message);
    known = std::move(file->plan);
  }
  auto recorded = load_recorded_session(wanted.capture, wanted.session);
  if (!recorded) return fail(recorded.error().message);
  for (const std::string& warning : recorded->warnings) {
    std::cerr << "foundling bench next: warning: " << warning << '\n';
  }
  bool is_known = !wanted.known.empty();
  if (!is_known) {
    auto left = plan_left_in(wanted.capture, recorded->data.session.id);
    if (!left) return fail(left.error().message);
    is_known = left->has_value();
    if (is_known) known = **std::move(left);
  }
  recorded->data.messages = with_payloads(std::move(recorded->data.messages));
  const SessionData& data = recorded->data;
  const SearchOrder order{"bench next", wanted.capture};
  const auto plan = plan_of_session(order, data);
  if (!plan) return fail(plan.error().message);
  const Correlation found = search_session(order, data, survey(data.messages), *plan);
  const NextPlan next = next_plan(found, data.channels, known);
  say(next, is_known);
  if (next.plan.channels.empty()) {
    std::cerr << "nothing is open that a plan could settle\n";
    return exit_findings;
  }
  const auto drawn = bench::draw_plan(next.plan, wanted.seed);
  if (!drawn) return fail(wanted.capture + ": " + drawn.error().message);
  std::cerr << '\n';
  std::cerr << paragraph(bench::cautions, 0, text_width(STDERR_FILENO), 0);
  std::cerr << '\n'
            << plan_report(drawn->plan, bench::judge(drawn->plan), text_width(STDERR_FILENO));
  put_exactly(bench::write_plan(drawn->plan));
  return exit_good;
}

}  // namespace

void declare_bench_next(CommandLine app, BenchRun& chosen) {
  auto wanted = std::make_shared<Wanted>();
  CommandLine sub =
      app.add_verb("next", "The shortest plan that settles what `correlate` left open");
  sub.add_option("CAPTURE", wanted->capture, "A capture with a session that was searched")
      .required();
  sub.add_option("--session", wanted->session, "Which session; default the last one with frames")
      .type_name("N");
  sub.add_option(
         "--bench", wanted->known,
         "What can be moved and how far; else as in the plan that bench run left in the capture; "
         "without one, nothing goes further than it went")
      .type_name("FILE");
  sub.add_option("--seed", wanted->seed, "Of the draw; default 1").type_name("N");
  sub.footer(
      "Channels that moved together, had too few levels, or whose fields' top bits never moved.\n"
      "Exit status 1 means that nothing is open which a plan could settle.\n"
      "\n"
      "Example: after the invented tractor's first session\n"
      "  foundling bench next captures_demo/tractor-1.capture --bench captures_demo/tractor.bench");
  sub.when_chosen([&chosen, wanted] { chosen = [wanted] { return run(*wanted); }; });
}

}  // namespace foundling
