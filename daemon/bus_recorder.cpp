#include "daemon/bus_recorder.h"

#include <linux/can/error.h>

#include <algorithm>
#include <array>
#include <utility>

#include "daemon/error_frame.h"

namespace foundling {

BusRecorder::BusRecorder(std::uint8_t bus, const TimeLine& line, RecordQueue& queue)
    : bus_(bus), line_(line), queue_(queue) {}

namespace {

// Error frames stored whole in a second; the further ones are counted by class. At a wrong bit rate
// thousands come in a second, for as long as nobody looks.
constexpr int whole_errors_a_second = 100;
// Kinds of them told apart; what is beyond is counted as one.
constexpr std::size_t most_further_kinds = 32;
constexpr std::int64_t second_ns = 1'000'000'000;

}  // namespace

void BusRecorder::new_source(std::uint64_t interface_drops) {
  drops_.restart();
  interface_drops_ = interface_drops;
  interface_asked_ns_ = last_ns_;
}

void BusRecorder::arrived(std::span<const Arrival> arrivals) {
  frames_.clear();
  for (const Arrival& arrival : arrivals) {
    std::int64_t t_ns = line_.place(arrival.wall_ns, last_ns_);
    if (arrival.hardware_ns != 0) {
      t_ns = std::max(hardware_time_.place(arrival.hardware_ns, t_ns), last_ns_);
      tally_.hardware_time = true;
    }
    if (lost_link_) link_back(t_ns);
    if (arrival.drops) note_drops(*arrival.drops, t_ns);
    if (t_ns - last_ns_ >= pause_ns) close_overrun(t_ns);
    last_ns_ = t_ns;
    Frame frame = arrival.frame;
    frame.t_ns = t_ns;
    frame.bus = bus_;
    if (frame.id.is_error()) {
      note_error(frame);
    } else {
      if (++since_overrun_ >= controller_holds) close_overrun(t_ns);
      recent_ns_[oldest_] = t_ns;
      oldest_ = (oldest_ + 1) % recent_ns_.size();
      frames_.push_back(frame);
    }
  }
  tally_.frames += frames_.size();
  queue_.add_frames(frames_);
}

void BusRecorder::drops_so_far(std::uint32_t counter, std::int64_t now_ns) {
  note_drops(counter, std::max(now_ns, last_ns_));
}

void BusRecorder::interface_drops_so_far(std::uint64_t counter, std::int64_t asked_ns,
                                         std::int64_t now_ns) {
  // A smaller counter is that of an interface that was made anew.
  const std::uint64_t dropped = counter - (counter < interface_drops_ ? 0 : interface_drops_);
  interface_drops_ = counter;
  const std::int64_t from_ns = std::exchange(interface_asked_ns_, asked_ns);
  if (dropped == 0) return;
  tally_.dropped += dropped;
  // Nothing but the counter tells of them: they lie anywhere since it was read before.
  queue_.add_gap({from_ns, std::max(now_ns, last_ns_), bus_, dropped,
                  "the kernel had no room for the interface's frames"});
}

void BusRecorder::controller_is(const std::string& words, std::int64_t now_ns) {
  if (now_ns - error_second_ns_ >= second_ns) note_further_errors(now_ns);
  if (now_ns - last_ns_ >= pause_ns) close_overrun(now_ns);
  if (words == controller_) return;
  controller_ = words;
  queue_.add_event({now_ns, bus_, 0, {}, "counters", words.empty() ? "not told" : words});
}

void BusRecorder::controller_restarted(std::int64_t now_ns) {
  queue_.add_event({now_ns, bus_, 0, {}, "state", "the recorder restarted the controller"});
}

void BusRecorder::link_lost(std::int64_t now_ns, std::string why) {
  if (lost_link_) return;
  lost_link_ = Gap{std::max(now_ns, last_ns_), 0, bus_, 0, std::move(why)};
}

void BusRecorder::link_lost_because(std::string why) {
  if (lost_link_) lost_link_->why = std::move(why);
}

void BusRecorder::link_back(std::int64_t now_ns) {
  if (!lost_link_) return;
  lost_link_->to_ns = std::max(now_ns, lost_link_->from_ns);
  queue_.add_gap(*std::exchange(lost_link_, {}));
}

void BusRecorder::stopped(std::int64_t now_ns) {
  note_further_errors(now_ns);
  close_overrun(now_ns);
  link_back(now_ns);
}

BusRecorder::Tally BusRecorder::take_tally() { return std::exchange(tally_, {}); }

// The drops lie between the last frame that was read and the one that tells of them.
void BusRecorder::note_drops(std::uint32_t counter, std::int64_t to_ns) {
  const std::uint64_t dropped = drops_.advance(counter);
  if (dropped == 0) return;
  tally_.dropped += dropped;
  queue_.add_gap({last_ns_, to_ns, bus_, dropped, "the socket's buffer was full"});
}

void BusRecorder::note_error(const Frame& frame) {
  const ErrorReport report = describe_error_frame(frame.id, frame.bytes());
  if (frame.t_ns - error_second_ns_ >= second_ns) {
    note_further_errors(frame.t_ns);
    error_second_ns_ = frame.t_ns;
    errors_of_second_ = 0;
  }
  ++tally_.errors;
  tally_.last_error = report.detail;
  // An overrun's gap is what counts, and there is one for all that come together.
  if (report.frames_lost) note_overrun(frame.t_ns);
  if ((report.kind == "error-frame" || report.frames_lost) &&
      ++errors_of_second_ > whole_errors_a_second) {
    note_further_error(frame);
    return;
  }
  BusEvent event{frame.t_ns, bus_, frame.id.raw, {}, std::string(report.kind), report.detail};
  std::copy_n(frame.payload.begin(), event.data.size(), event.data.begin());
  queue_.add_event(std::move(event));
}

void BusRecorder::note_further_error(const Frame& frame) {
  // Which problem of the controller counts where it is one, which of the protocol always.
  const bool of_controller = (frame.id.raw & CAN_ERR_CRTL) != 0;
  FurtherError kind{frame.id.raw, of_controller ? frame.payload[1] : std::uint8_t{0},
                    frame.payload[2]};
  const bool full = further_errors_.size() >= most_further_kinds;
  if (full && !further_errors_.contains(kind)) {
    kind = FurtherError(frame.id.raw & CanId::error_flag, std::uint8_t{0}, std::uint8_t{0});
  }
  ++further_errors_[kind];
}

void BusRecorder::note_overrun(std::int64_t t_ns) {
  since_overrun_ = 0;
  if (overrun_) return;
  overrun_ = Gap{std::min(recent_ns_[oldest_], t_ns), 0, bus_, 0,
                 "the adapter's receive buffer overran: at least one frame lost"};
}

void BusRecorder::close_overrun(std::int64_t to_ns) {
  if (!overrun_) return;
  overrun_->to_ns = std::max(to_ns, last_ns_);
  queue_.add_gap(*std::exchange(overrun_, {}));
}

void BusRecorder::note_further_errors(std::int64_t now_ns) {
  if (further_errors_.empty()) return;
  BusEvent event{std::max(now_ns, last_ns_), bus_, 0, {}, "error-frame", ""};
  std::uint64_t all = 0;
  for (const auto& [kind, count] : further_errors_) {
    const auto [can_id, of_controller, of_protocol] = kind;
    const std::array<std::uint8_t, 3> data{0, of_controller, of_protocol};
    event.can_id |= can_id;
    all += count;
    event.detail +=
        "; " + std::to_string(count) + " of: " + describe_error_frame({can_id}, data).detail;
  }
  event.detail = std::to_string(all) + " further error frames within a second" + event.detail;
  further_errors_.clear();
  queue_.add_event(std::move(event));
}

}  // namespace foundling
