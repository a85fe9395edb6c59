#include "daemon/bus_recorder.h"

#include <algorithm>
#include <utility>

#include "daemon/error_frame.h"

namespace foundling {

BusRecorder::BusRecorder(std::uint8_t bus, const TimeLine& line, RecordQueue& queue)
    : bus_(bus), line_(line), queue_(queue) {}

void BusRecorder::new_source() { drops_.restart(); }

void BusRecorder::arrived(std::span<const Arrival> arrivals) {
  frames_.clear();
  for (const Arrival& arrival : arrivals) {
    const std::int64_t t_ns = line_.place(arrival.wall_ns, last_ns_);
    if (lost_link_) link_back(t_ns);
    if (arrival.drops) note_drops(*arrival.drops, t_ns);
    last_ns_ = t_ns;
    Frame frame = arrival.frame;
    frame.t_ns = t_ns;
    frame.bus = bus_;
    if (frame.id.is_error()) {
      note_error(frame);
    } else {
      frames_.push_back(frame);
    }
  }
  tally_.frames += frames_.size();
  queue_.add_frames(frames_);
}

void BusRecorder::drops_so_far(std::uint32_t counter, std::int64_t now_ns) {
  note_drops(counter, std::max(now_ns, last_ns_));
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

void BusRecorder::stopped(std::int64_t now_ns) { link_back(now_ns); }

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
  BusEvent event{frame.t_ns, bus_, frame.id.raw, {}, std::string(report.kind), report.detail};
  std::copy_n(frame.payload.begin(), event.data.size(), event.data.begin());
  queue_.add_event(std::move(event));
  if (report.frames_lost) {
    queue_.add_gap({frame.t_ns, frame.t_ns, bus_, 0,
                    "the adapter's receive buffer overran: at least one frame lost"});
  }
  ++tally_.errors;
  tally_.last_error = report.detail;
}

}  // namespace foundling
