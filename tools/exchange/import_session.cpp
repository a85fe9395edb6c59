#include "tools/exchange/import_session.h"

#include <algorithm>
#include <array>
#include <limits>

#include "schemas/capture/time_limits.h"
#include "tools/exchange/far_readings.h"
#include "tools/exchange/frame_file.h"
#include "tools/exchange/new_capture.h"
#include "tools/exchange/stimulus_csv.h"

namespace foundling {
namespace {

// A clock that has run longer than this (three years) since its zero is a wall clock; a recording's
// own clock starts near zero.
constexpr std::int64_t wall_clock_from_ns = 100'000'000'000'000'000;

constexpr std::array<const char*, 10> error_classes = {
    "transmit time-out",
    "lost arbitration",
    "controller problem",
    "protocol violation",
    "transceiver",
    "no acknowledge",
    "bus off",
    "bus error",
    "controller restarted",
    "error counters"};  // linux/can/error.h, bit 0 upwards

BusEvent event_of(const Frame& frame) {
  BusEvent event{frame.t_ns, frame.bus, frame.id.raw, {}, "error-frame", ""};
  std::copy_n(frame.payload.begin(), event.data.size(), event.data.begin());
  for (std::size_t bit = 0; bit < error_classes.size(); ++bit) {
    if ((frame.id.raw >> bit & 1U) == 0) continue;
    event.detail += std::string(event.detail.empty() ? "" : ", ") + error_classes[bit];
  }
  return event;
}

class Importer {
 public:
  Importer(const ImportOrder& order, CaptureWriter& writer, ImportOutcome& outcome)
      : order_(order), writer_(writer), outcome_(outcome) {}

  Result<void> take_frames(FrameFile& file, void (*progress)(std::uint64_t)) {
    for (;;) {
      auto batch = file.next_batch();
      if (!batch) return batch.error();
      if (batch->empty()) break;
      if (session_ == 0) {
        if (auto begun = begin_session(batch->front().t_ns); !begun) return begun;
      }
      if (auto stored = store(*batch); !stored) return stored;
      progress(outcome_.frames);
    }
    for (std::string& remark : file.remarks()) outcome_.remarks.push_back(std::move(remark));
    if (session_ == 0) {
      outcome_.remarks.push_back("the file has no frames");
      if (auto begun = begin_session(0); !begun) return begun;
    }
    return put_into_order();
  }

  Result<void> take_stimulus(const StimulusFile& stimulus) {
    for (const ChannelSeries& series : stimulus.channels) {
      const auto channel = writer_.ensure_channel(series.channel);
      if (!channel) return channel.error();
      std::vector<Reading> readings = series.readings;
      for (Reading& reading : readings) {
        const bool asked = reading.earliest_ns != Reading::no_time;
        if (!to_session(reading.t_ns) || !is_session_time(reading.t_ns) ||
            (asked && !to_session(reading.earliest_ns))) {
          return Error{ErrorCode::usage, order_.stimulus->string() + ": a time of channel " +
                                             series.channel.name + " is out of range"};
        }
      }
      if (auto added = writer_.add_readings(session_, *channel, readings); !added) return added;
      outcome_.readings += readings.size();
      stored_.push_back({series.channel, std::move(readings)});
    }
    outcome_.channels = stimulus.channels.size();
    return {};
  }

  Result<void> end() { return writer_.end_session(session_, std::max<std::int64_t>(last_ns_, 0)); }

  // Readings all away from the frames mean two different clocks; a few far away, a slip.
  void look_at_times_of_readings(const StimulusFile& stimulus) {
    if (outcome_.frames == 0 || outcome_.readings == 0) return;
    if (look_for_two_clocks(stimulus)) return;
    for (std::string& text : describe_far_readings(stored_, {first_ns_, last_ns_})) {
      outcome_.remarks.push_back(std::move(text));
    }
  }

  bool look_for_two_clocks(const StimulusFile& stimulus) {
    const std::int64_t from = first_ns_ + origin_ns_;
    const std::int64_t to = last_ns_ + origin_ns_;
    for (const ChannelSeries& series : stimulus.channels) {
      for (const Reading& reading : series.readings) {
        const std::int64_t at = reading.t_ns + order_.stimulus_offset_ns;
        if (at >= from && at <= to) return false;
      }
    }
    outcome_.remarks.push_back(
        "no reading lies within the time of the frames: do both files have the same clock? "
        "--stimulus-offset shifts the readings");
    return true;
  }

 private:
  // From the stimulus file's clock. Both are within int64 each, but their sum need not be.
  [[nodiscard]] bool to_session(std::int64_t& t_ns) const {
    return !__builtin_add_overflow(t_ns, order_.stimulus_offset_ns, &t_ns) &&
           !__builtin_sub_overflow(t_ns, origin_ns_, &t_ns);
  }

  Result<void> begin_session(std::int64_t first_stamp) {
    origin_ns_ = first_stamp >= wall_clock_from_ns ? first_stamp : 0;
    if (origin_ns_ > latest_wall_ns) return no_recording(1, "lies beyond the year 2116");
    SessionInfo info = order_.info;
    info.origin_ns = origin_ns_;
    info.started_utc_ns = origin_ns_;
    const auto session = writer_.begin_session(info);
    if (!session) return session.error();
    session_ = *session;
    return {};
  }

  // What no reader of captures would take: said now, rather than by all that read it later.
  [[nodiscard]] Error no_recording(std::uint64_t frame, const std::string& why) const {
    return {ErrorCode::format,
            order_.frames.string() + ": frame " + std::to_string(frame) + ": its time " + why};
  }

  Result<void> store(std::vector<Frame>& batch) {
    std::vector<Frame> data;
    data.reserve(batch.size());
    for (Frame& frame : batch) {
      if (__builtin_sub_overflow(frame.t_ns, origin_ns_, &frame.t_ns)) {
        return no_recording(seen_ + 1, "lies too far from the first one's");
      }
      ++seen_;
      if (!is_session_time(frame.t_ns)) {
        return no_recording(seen_, "lies more than a hundred years from the recording's zero");
      }
      if (any_ && frame.t_ns < latest_ns_) ++outcome_.out_of_order;
      latest_ns_ = frame.t_ns;
      first_ns_ = any_ ? std::min(first_ns_, frame.t_ns) : frame.t_ns;
      last_ns_ = any_ ? std::max(last_ns_, frame.t_ns) : frame.t_ns;
      any_ = true;
      if (last_ns_ - first_ns_ > longest_session_ns) {
        return no_recording(seen_, "lies more than ten years from another's");
      }
      if (frame.id.is_error()) {
        if (auto added = writer_.add_event(session_, event_of(frame)); !added) return added;
        ++outcome_.error_frames;
        continue;
      }
      outcome_.remote_frames += frame.id.is_remote() ? 1U : 0U;
      data.push_back(frame);
    }
    outcome_.frames += data.size();
    return writer_.add_frames(session_, data);
  }

  Result<void> put_into_order() {
    if (outcome_.out_of_order == 0) return {};
    const std::int64_t shift = origin_ns_ != 0 && first_ns_ < 0 ? -first_ns_ : 0;
    if (auto done = writer_.reorder(session_, shift); !done) return done;
    origin_ns_ -= shift;
    first_ns_ += shift;
    last_ns_ += shift;
    return {};
  }

  const ImportOrder& order_;
  CaptureWriter& writer_;
  ImportOutcome& outcome_;
  std::int64_t session_ = 0;
  std::int64_t origin_ns_ = 0;
  std::vector<ChannelSeries> stored_;  // on the session's time line
  bool any_ = false;
  std::uint64_t seen_ = 0;                                   // frames, error frames among them
  std::int64_t latest_ns_ = 0, first_ns_ = 0, last_ns_ = 0;  // on the session's time line
};

}  // namespace

Result<ImportOutcome> import_session(const ImportOrder& order, void (*progress)(std::uint64_t)) {
  ImportOutcome outcome;
  // The small file first: its faults are told before minutes are spent on the large one.
  StimulusFile stimulus;
  if (order.stimulus) {
    auto read = order.stimulus_layout
                    ? read_readings_by_layout(*order.stimulus, *order.stimulus_layout)
                    : read_stimulus_csv(*order.stimulus);
    if (!read) return read.error();
    stimulus = std::move(read).value();
    outcome.remarks = stimulus.remarks;
  }
  auto frames = order.frames_layout ? open_frames_by_layout(order.frames, *order.frames_layout)
                                    : open_frame_file(order.frames);
  if (!frames) return frames.error();
  auto capture = NewCapture::start(order.capture);
  if (!capture) return capture.error();
  CaptureWriter& writer = capture->writer();
  Importer importer(order, writer, outcome);
  if (auto begun = writer.begin(); !begun) return begun.error();
  if (auto done = importer.take_frames(**frames, progress); !done) return done.error();
  if (auto done = importer.take_stimulus(stimulus); !done) return done.error();
  if (auto done = importer.end(); !done) return done.error();
  if (auto done = writer.commit(); !done) return done.error();
  importer.look_at_times_of_readings(stimulus);
  if (auto done = capture->finish(); !done) return done.error();
  return outcome;
}

}  // namespace foundling
