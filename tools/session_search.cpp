#include "tools/session_search.h"

#include <algorithm>
#include <chrono>
#include <condition_variable>
#include <filesystem>
#include <iostream>
#include <mutex>
#include <thread>
#include <utility>

#include "decoder/analysis/correlate.h"
#include "decoder/bench/plan_text.h"
#include "decoder/report/proposals_fit.h"
#include "schemas/capture/capture_reader.h"
#include "tools/plan_file.h"
#include "tools/plan_redraws.h"
#include "tools/progress.h"
#include "tools/recorded_plan.h"

namespace foundling {
namespace {

// How long the search may take, in seconds: 0.4 µs of processor time for each frame and channel,
// measured on the report bench's hour (tests/bench/README.md), on as many cores as there are.
double search_seconds(const SessionData& data, const SearchedSession& searched) {
  const auto cores = std::max(1U, std::thread::hardware_concurrency());
  return 0.4e-6 * static_cast<double>(searched.frames) * static_cast<double>(data.channels.size()) /
         cores;
}

// Said also where nobody watches: who waits, or reads a log, is to know for what.
void announce(const std::string& command, double seconds) {
  if (seconds < 15) return;
  std::cerr << "foundling " << command << ": the search for signals may take some "
            << (seconds < 90    ? "tens of seconds"
                : seconds < 600 ? "minutes"
                                : "tens of minutes")
            << '\n';
}

// Says for how long it has been going on, every second.
class Ticker {
 public:
  explicit Ticker(std::string text) : text_(std::move(text)) {
    progress_.say(text_ + " ...");
    if (progress_.watched()) thread_ = std::thread([this] { tick(); });
  }
  Ticker(const Ticker&) = delete;
  Ticker& operator=(const Ticker&) = delete;
  ~Ticker() {
    {
      const std::lock_guard lock(mutex_);
      done_ = true;
    }
    ended_.notify_all();
    if (thread_.joinable()) thread_.join();
  }

 private:
  void tick() {
    std::unique_lock lock(mutex_);
    for (int seconds = 1; !ended_.wait_for(lock, std::chrono::seconds(1), [this] { return done_; });
         ++seconds) {
      progress_.say(text_ + " ... " + std::to_string(seconds) + " s");
    }
  }

  std::string text_;
  Progress progress_;
  std::mutex mutex_;
  std::condition_variable ended_;
  bool done_ = false;
  std::thread thread_;
};

Result<SessionPlan> redrawn(const std::string& name, const bench::Plan& plan,
                            const SessionData& data, const std::vector<StoredMark>& marks,
                            std::uint64_t seed) {
  auto stimuli = redraw_plan(plan, data, marks, seed);
  if (!stimuli) return Error{stimuli.error().code, name + ": " + stimuli.error().message};
  return SessionPlan{std::move(stimuli).value(), RedrawnPlan{name, *plan.seed, plan_draws}};
}

}  // namespace

Result<SessionPlan> plan_of_session(const SearchOrder& order, const SessionData& data) {
  auto reader = CaptureReader::open(order.capture);
  if (!reader) return reader.error();
  const auto marks = reader->marks(data.session.id);
  if (!marks) return marks.error();
  if (!order.plan.empty()) {
    const auto file = load_plan_file(order.plan, std::cerr);
    if (!file) return file.error();
    return redrawn(order.plan, file->plan, data, *marks, order.seed);
  }
  const auto text = recorded_plan(*marks);
  if (!text) {
    if (has_lost_its_plan(*marks)) {
      std::cerr << "foundling " << order.command
                << ": note: a bench run left its steps in the capture, but its "
                   "plan is not there any more; the chance figures are from permuting what was "
                   "applied\n";
    }
    return SessionPlan{};
  }
  const bench::PlanText read = bench::read_plan(*text);
  Result<SessionPlan> found = Error{ErrorCode::format, "the capture's plan has errors"};
  if (read.ok()) found = redrawn("the plan in the capture", read.plan, data, *marks, order.seed);
  if (found) return found;
  std::cerr << "foundling " << order.command << ": note: " << found.error().message
            << "; the chance figures are from permuting what was applied\n";
  return SessionPlan{};
}

Correlation search_session(const SearchOrder& order, const SessionData& data, const Survey& survey,
                           const SessionPlan& plan) {
  const SearchedSession searched =
      searched_session(std::filesystem::path(order.capture).filename().string(), data.session.id,
                       data.messages, data.channels);
  announce(order.command, search_seconds(data, searched));
  const Ticker ticker("trying every field against " + std::to_string(data.channels.size()) +
                      " channels");
  CorrelateOptions options;
  options.seed = order.seed;
  if (plan.stimuli) options.planned = &*plan.stimuli;
  Correlation found = correlate(data.messages, data.channels, survey, options);
  found.plan = plan.redrawn;
  found.source = searched;
  return found;
}

}  // namespace foundling
