#include "daemon/instruments/instrument_poller.h"

#include <spdlog/spdlog.h>

#include <algorithm>
#include <utility>

namespace foundling {
namespace {

using std::chrono::seconds;

constexpr int silences_until_reopened = 3;
// Rows in the capture: at most one a second while it comes and goes, one now and then for counts.
constexpr seconds least_between_rows{1};
constexpr seconds longest_between_rows{10};

std::chrono::nanoseconds duration(double in_seconds) {
  return std::chrono::nanoseconds(static_cast<std::int64_t>(in_seconds * 1e9));
}

}  // namespace

InstrumentPoller::InstrumentPoller(InstrumentSettings settings, OpenLine open,
                                   InstrumentReport report, const StopSign& stop)
    : settings_(std::move(settings)),
      open_(std::move(open)),
      report_(std::move(report)),
      stop_(stop),
      due_(settings_.queries.size()) {
  state_.name = settings_.name;
}

void InstrumentPoller::run() {
  while (!stop_.is_raised()) {
    if (!get_ready()) {
      tell(false);
      if (stop_.wait_until(Clock::now() + backoff_.next())) break;
      continue;
    }
    const std::size_t next = next_due();
    if (stop_.wait_until(due_[next])) break;
    ask(next);
    // What was missed is not made up for in a burst.
    const auto every = duration(settings_.queries[next].every_s);
    due_[next] = std::max(due_[next] + every, Clock::now());
    tell(false);
  }
  tell(true);
}

bool InstrumentPoller::get_ready() {
  if (in_step_) return true;
  if (!line_) {
    auto opened = open_(answer_until());
    if (!opened) {
      become("away", opened.error().message);
      return false;
    }
    line_ = std::move(opened).value();
  }
  if (const auto identified = identify(); !identified) {
    fail(identified.error(), "*IDN?");
    return false;
  }
  in_step_ = true;
  misses_ = 0;
  backoff_.reset();
  const auto now = Clock::now();
  for (auto& due : due_) due = std::max(due, now);
  return true;
}

Result<void> InstrumentPoller::identify() {
  const Deadline until = answer_until();
  line_->discard();
  if (auto sent = line_->send("*IDN?" + settings_.line_end, until); !sent) return sent;
  for (;;) {
    const auto answer = line_->receive(until);
    if (!answer) return answer.error();
    if (!looks_like_identity(*answer)) continue;  // late, to an earlier query
    std::string identity = printable(*answer, 200);
    if (identity != state_.identity) {
      spdlog::info("instrument {}: {}", settings_.name, identity);
      state_.identity = std::move(identity);
    }
    // Silent before, or away: it answers again. Whether it also measures, the next query shows.
    if (state_.state != "garbled" && state_.state != "overload") become("working", "");
    return {};
  }
}

void InstrumentPoller::ask(std::size_t number) {
  const InstrumentQuery& query = settings_.queries[number];
  const Deadline until = answer_until();
  line_->discard();
  const std::int64_t asked_ns = report_.now_ns();
  if (auto sent = line_->send(query.ask + settings_.line_end, until); !sent) {
    return fail(sent.error(), query.ask);
  }
  const auto answer = line_->receive(until);
  if (!answer) return fail(answer.error(), query.ask);
  // It measured somewhere between question and answer.
  const std::int64_t answered_ns = report_.now_ns();
  take(query, *answer, asked_ns + (answered_ns - asked_ns) / 2);
}

void InstrumentPoller::take(const InstrumentQuery& query, const std::string& answer,
                            std::int64_t t_ns) {
  const ScpiAnswer read = read_answer(answer, query.number);
  switch (read.kind) {
    case Answer::garbled:
      in_step_ = false;
      return refuse("garbled", "answered " + query.ask + " with \"" + printable(answer) + '"');
    case Answer::overload:
      return refuse("overload", query.ask + ": beyond the range it is set to");
    case Answer::not_a_number:
      return refuse("overload", query.ask + ": it has no value to give");
    case Answer::value:
      break;
  }
  const auto measured = query.measured(read.value);
  if (!measured) return refuse("overload", query.ask + ": " + measured.error().message);
  Reading reading;
  reading.t_ns = t_ns;
  reading.earliest_ns = t_ns;  // not late, as what a person types is
  reading.value = measured->value;
  reading.uncertainty = measured->uncertainty;
  if (!report_.reading(query.channel, reading)) {
    return refuse("working", "the recorder had no room for a reading");
  }
  ++state_.readings;
  become("working", "");
}

void InstrumentPoller::refuse(const char* state, std::string why) {
  ++state_.refused;
  become(state, std::move(why));
}

void InstrumentPoller::fail(const Error& error, const std::string& doing) {
  in_step_ = false;
  if (stop_.is_raised()) return;
  if (error.code == ErrorCode::io) {
    line_.reset();
    return become("away", error.message);
  }
  if (state_.state == "working") ++state_.refused;
  // A pulled cable looks like silence for minutes, so in the end the line is opened anew.
  if (++misses_ >= silences_until_reopened) line_.reset();
  become("silent", doing + ": " + error.message);
}

void InstrumentPoller::become(const char* state, std::string detail) {
  state_.detail = std::move(detail);
  if (state_.state == state) return;
  state_.state = state;
  if (state_.detail.empty()) {
    spdlog::info("instrument {}: {}", settings_.name, state);
  } else {
    spdlog::warn("instrument {}: {}: {}", settings_.name, state, state_.detail);
  }
}

void InstrumentPoller::tell(bool at_once) {
  const auto since = Clock::now() - told_at_;
  const bool changed = state_.state != told_.state;
  const bool counted = state_.readings != told_.readings || state_.refused != told_.refused;
  const bool due = (changed && since >= least_between_rows) || since >= longest_between_rows;
  if (!(due || (at_once && (changed || counted)))) return;
  state_.t_ns = report_.now_ns();
  report_.state(state_);
  told_ = state_;
  told_at_ = Clock::now();
}

Deadline InstrumentPoller::answer_until() const {
  return Clock::now() + duration(settings_.timeout_s);
}

std::size_t InstrumentPoller::next_due() const {
  return static_cast<std::size_t>(std::min_element(due_.begin(), due_.end()) - due_.begin());
}

}  // namespace foundling
