#include "tools/demo_transmit.h"

#include <signal.h>

#include <algorithm>
#include <cmath>
#include <ctime>
#include <iostream>
#include <limits>
#include <vector>

#include "tools/bench_notebook.h"
#include "tools/can_interface.h"
#include "tools/can_sender.h"

namespace foundling {
namespace {

volatile sig_atomic_t asked_to_stop = 0;

void note_signal(int) { asked_to_stop = 1; }

// Stops the play on SIGINT and SIGTERM; sleeping calls return early.
void listen_for_signals() {
  struct sigaction action {};
  action.sa_handler = note_signal;
  sigaction(SIGINT, &action, nullptr);
  sigaction(SIGTERM, &action, nullptr);
}

std::int64_t now_ns() {
  timespec now{};
  clock_gettime(CLOCK_MONOTONIC, &now);
  return static_cast<std::int64_t>(now.tv_sec) * 1'000'000'000 + now.tv_nsec;
}

// False when a signal came first.
bool sleep_until(std::int64_t t_ns) {
  const timespec until{static_cast<time_t>(t_ns / 1'000'000'000), t_ns % 1'000'000'000};
  while (asked_to_stop == 0 && now_ns() < t_ns) {
    clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &until, nullptr);
  }
  return asked_to_stop == 0;
}

std::vector<Note> notes_in_order(const board::BenchSession& session) {
  std::vector<Note> notes;
  for (const ChannelSeries& series : session.channels) {
    for (const Reading& reading : series.readings) notes.push_back({&series.channel, reading});
  }
  std::stable_sort(notes.begin(), notes.end(),
                   [](const Note& a, const Note& b) { return a.reading.t_ns < b.reading.t_ns; });
  return notes;
}

// One play: frames and notes in order of time, each at its moment.
class Player {
 public:
  Player(const board::BenchSession& session, const TransmitOptions& options, CanSender& sender,
         BenchNotebook& notebook)
      : session_(session),
        notes_(notes_in_order(session)),
        speed_(options.speed),
        sender_(sender),
        notebook_(notebook),
        start_ns_(now_ns()),
        limit_ns_(options.seconds ? static_cast<std::int64_t>(*options.seconds * 1e9)
                                  : std::numeric_limits<std::int64_t>::max()) {}

  Result<Transmitted> play() {
    for (const Frame& frame : session_.frames) {
      if (auto done = write_notes_before(frame.t_ns); !done) return done.error();
      if (!wait(frame.t_ns)) break;
      if (auto done = sender_.send(frame); !done) return with_count(done.error());
      ++result_.frames;
      const std::int64_t late = now_ns() - start_ns_ - played_ns(frame.t_ns);
      result_.worst_lateness_s =
          std::max(result_.worst_lateness_s, static_cast<double>(late) * 1e-9);
    }
    result_.seconds = static_cast<double>(now_ns() - start_ns_) * 1e-9;
    result_.interrupted = asked_to_stop != 0;
    return result_;
  }

 private:
  [[nodiscard]] std::int64_t played_ns(std::int64_t t_ns) const {
    return static_cast<std::int64_t>(std::llround(static_cast<double>(t_ns) / speed_));
  }
  bool wait(std::int64_t t_ns) {
    const std::int64_t due = played_ns(t_ns);
    return due <= limit_ns_ && sleep_until(start_ns_ + due);
  }
  Result<void> write_notes_before(std::int64_t t_ns) {
    while (next_note_ < notes_.size() && notes_[next_note_].reading.t_ns <= t_ns) {
      const std::int64_t at_ns = notes_[next_note_].reading.t_ns;
      if (!wait(at_ns)) return {};
      std::size_t end = next_note_;
      while (end < notes_.size() && notes_[end].reading.t_ns == at_ns) ++end;
      const auto batch = std::span(notes_).subspan(next_note_, end - next_note_);
      if (auto done = notebook_.write(batch); !done) return with_count(done.error());
      result_.readings += batch.size();
      next_note_ = end;
    }
    return {};
  }
  [[nodiscard]] Error with_count(const Error& error) const {
    return {error.code, error.message + " (after " + std::to_string(result_.frames) + " frames)"};
  }

  const board::BenchSession& session_;
  std::vector<Note> notes_;
  double speed_;
  CanSender& sender_;
  BenchNotebook& notebook_;
  std::int64_t start_ns_;
  std::int64_t limit_ns_;
  std::size_t next_note_ = 0;
  Transmitted result_;
};

}  // namespace

Result<CanInterface> permitted_interface(const std::string& name, bool bus_is_mine) {
  auto interface = find_can_interface(name);
  if (!interface) return interface;
  if (!interface->is_virtual() && !bus_is_mine) {
    return Error{ErrorCode::usage,
                 name +
                     ": is not a virtual CAN interface, so these invented frames would go out on a "
                     "wire. A real pack's board, charger or inverter may act on them. If nothing "
                     "but your own test equipment is on that bus, add --yes-this-bus-is-mine"};
  }
  if (!interface->up) {
    return Error{ErrorCode::io,
                 name + ": is down; bring it up first (ip link set " + name + " up)"};
  }
  return interface;
}

Result<Transmitted> transmit(const board::BenchSession& session, const TransmitOptions& options) {
  const auto interface = permitted_interface(options.interface, options.bus_is_mine);
  if (!interface) return interface.error();
  auto sender = CanSender::open(*interface);
  if (!sender) return sender.error();
  auto notebook = BenchNotebook::open(options.readings_into, options.stimulus_file);
  if (!notebook) return notebook.error();
  listen_for_signals();
  std::cerr << "Transmitting invented frames on " << options.interface << ". Ctrl-C stops.\n";
  auto sent = Player(session, options, *sender, *notebook).play();
  if (auto closed = notebook->close(); sent && !closed) return closed.error();
  return sent;
}

}  // namespace foundling
