#include "tools/exchange/export_session.h"

#include <algorithm>
#include <optional>

#include "tools/exchange/frames_csv.h"
#include "tools/exchange/pcapng_writer.h"

namespace foundling {
namespace {

constexpr std::size_t piece = 1 << 18;

class Exporter {
 public:
  Exporter(const SessionRow& session, FrameFormat format, OutputFile& output)
      : session_(session), format_(format), output_(output) {}

  void begin() {
    if (format_ == FrameFormat::csv) {
      bytes_ += frames_csv_header;
      bytes_ += '\n';
    } else {
      pcapng_.begin(bytes_, "foundling");
    }
  }

  // False when the export cannot go on.
  bool put(const Frame& frame) {
    const std::int64_t stamp = session_.info.origin_ns + frame.t_ns;
    if (format_ == FrameFormat::csv) {
      put_csv(frame, stamp);
    } else if (stamp < 0) {
      failure_ = Error{ErrorCode::usage, "pcapng cannot carry times before its zero; use CSV"};
      return false;
    } else {
      pcapng_.append(bytes_, frame, stamp);
      ++outcome_.frames;
    }
    if (bytes_.size() < piece) return true;
    if (auto written = flush(); !written) failure_ = written.error();
    return !failure_;
  }

  Result<void> flush() {
    auto written = output_.write(bytes_);
    bytes_.clear();
    return written;
  }

  [[nodiscard]] const std::optional<Error>& failure() const { return failure_; }

  ExportOutcome outcome() {
    const auto tell = [&](std::uint64_t count, const char* what) {
      if (count > 0) outcome_.not_carried.push_back(std::to_string(count) + what);
    };
    tell(remote_, " remote frames left out: CSV cannot carry them");
    tell(errors_, " error frames left out: CSV cannot carry them");
    tell(flags_, " frames lost their FD flags: CSV cannot carry them");
    return outcome_;
  }

 private:
  void put_csv(const Frame& frame, std::int64_t stamp) {
    if (frame.id.is_error()) {
      ++errors_;
    } else if (frame.id.is_remote()) {
      ++remote_;
    } else {
      flags_ += frame.flags != flags_of_length(frame.length) ? 1U : 0U;
      append_frame_csv(bytes_, frame, stamp);
      ++outcome_.frames;
    }
  }

  const SessionRow& session_;
  FrameFormat format_;
  OutputFile& output_;
  PcapngWriter pcapng_;
  std::string bytes_;
  ExportOutcome outcome_;
  std::uint64_t remote_ = 0, errors_ = 0, flags_ = 0;
  std::optional<Error> failure_;
};

Frame frame_of(const BusEvent& event) {
  Frame frame;
  frame.t_ns = event.t_ns;
  frame.bus = event.bus;
  frame.id.raw = event.can_id | CanId::error_flag;
  frame.length = 8;
  std::copy(event.data.begin(), event.data.end(), frame.payload.begin());
  return frame;
}

}  // namespace

Result<ExportOutcome> export_frames(CaptureReader& reader, const SessionRow& session,
                                    FrameFormat format, OutputFile& output) {
  auto events = reader.events(session.id);
  if (!events) return events.error();
  events->erase(std::remove_if(events->begin(), events->end(),
                               [](const BusEvent& e) { return e.kind != "error-frame"; }),
                events->end());
  Exporter exporter(session, format, output);
  exporter.begin();
  std::size_t next_event = 0;
  const auto put_events_until = [&](std::int64_t t_ns) {
    while (next_event < events->size() && (*events)[next_event].t_ns <= t_ns) {
      if (!exporter.put(frame_of((*events)[next_event++]))) return false;
    }
    return true;
  };
  auto walked = reader.for_each_frame(
      session.id, time_from_start, time_to_end,
      [&](const Frame& frame) { return put_events_until(frame.t_ns) && exporter.put(frame); });
  if (!walked) return walked.error();
  if (!exporter.failure()) put_events_until(time_to_end);
  if (exporter.failure()) return *exporter.failure();
  if (auto written = exporter.flush(); !written) return written.error();
  return exporter.outcome();
}

}  // namespace foundling
