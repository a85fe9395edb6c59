#include "tools/status/recorder_status.h"

#include <algorithm>
#include <filesystem>
#include <map>

#include "decoder/report/bus_load.h"
#include "schemas/capture/capture_reader.h"
#include "schemas/capture/recording_lock.h"
#include "schemas/capture/session_clock.h"

namespace foundling {
namespace {

constexpr std::int64_t rows_looked_at = 20'000;
constexpr std::int64_t window_ns = 10'000'000'000;

double seconds(std::int64_t ns) { return static_cast<double>(ns) * 1e-9; }

struct Traffic {
  std::uint64_t frames = 0;
  std::uint64_t bits = 0;
};

// `until_ns`: now while recording, else the last frame; so a bus that fell silent shows it.
Result<void> measure_traffic(CaptureReader& reader, const SessionRow& session,
                             std::int64_t until_ns, RecorderStatus& status) {
  if (session.frames == 0) return {};
  std::map<int, Traffic> buses;
  std::int64_t from_ns = until_ns - window_ns;
  const std::int64_t before =
      session.last_row - std::min<std::int64_t>(session.last_row, rows_looked_at);
  bool first = true;
  const auto read = reader.frames_after(session.id, before, [&](const Frame& frame) {
    // More frames than were looked at: the window is shorter.
    if (std::exchange(first, false) && before > 0) from_ns = std::max(from_ns, frame.t_ns);
    Traffic& traffic = buses[frame.bus];
    if (frame.t_ns < from_ns) return true;
    ++traffic.frames;
    if ((frame.flags & fd_flag_fd_format) == 0) {
      traffic.bits +=
          static_cast<std::uint64_t>(frame_bits(frame.id.is_extended(), frame.length).unstuffed);
    }
    return true;
  });
  if (!read) return read.error();
  const double window = std::max(seconds(until_ns - std::max<std::int64_t>(from_ns, 0)), 0.1);
  for (const auto& [bus, traffic] : buses) {
    BusStatus one{bus, static_cast<double>(traffic.frames) / window, {}};
    if (session.info.bit_rate > 0) {
      one.load =
          static_cast<double>(traffic.bits) / window / static_cast<double>(session.info.bit_rate);
    }
    status.buses.push_back(one);
  }
  return {};
}

Result<void> add_losses(CaptureReader& reader, std::int64_t session, std::int64_t now_ns,
                        RecorderStatus& status) {
  const auto gaps = reader.gaps(session);
  if (!gaps) return gaps.error();
  status.gaps = gaps->size();
  for (const Gap& gap : *gaps) {
    status.frames_lost += gap.frames_lost;
    if (!status.last_gap || gap.to_ns >= status.last_gap->to_ns) status.last_gap = gap;
  }
  if (status.last_gap) status.last_gap_age_s = seconds(now_ns - status.last_gap->to_ns);
  return {};
}

Result<void> add_health(CaptureReader& reader, std::int64_t session, std::int64_t now_ns,
                        RecorderStatus& status) {
  const auto health = reader.last_health(session);
  if (!health) return health.error();
  if (!*health) return {};
  status.last_written_age_s = seconds(now_ns - (*health)->t_ns);
  status.queued = (*health)->queued;
  status.longest_commit_s = seconds((*health)->commit_ns);
  return {};
}

Result<void> add_instruments(CaptureReader& reader, std::int64_t session, std::int64_t now_ns,
                             RecorderStatus& status) {
  auto all = reader.instruments(session);
  if (!all) return all.error();
  for (InstrumentState& one : *all) {
    const double age = seconds(now_ns - one.t_ns);
    status.instruments.push_back({std::move(one), age});
  }
  return {};
}

void add_sizes(const std::filesystem::path& file, const SessionRow& session,
               RecorderStatus& status) {
  std::error_code failure;
  for (const char* const end : {"", "-wal"}) {
    const auto bytes = std::filesystem::file_size(file.string() + end, failure);
    if (!failure) status.file_bytes += bytes;
  }
  const auto space = std::filesystem::space(
      file.has_parent_path() ? file.parent_path() : std::filesystem::path("."), failure);
  if (!failure) status.disk_left_bytes = space.available;
  const double rate = status.frames_per_s();
  if (!status.recording || rate <= 0 || failure) return;
  // A file of few frames is mostly its own frame of tables: never below what a frame takes.
  const double bytes_a_frame = std::clamp(
      static_cast<double>(status.file_bytes) / static_cast<double>(session.frames), 24.0, 100.0);
  status.seconds_to_full = static_cast<double>(status.disk_left_bytes) / (rate * bytes_a_frame);
}

Result<SessionRow> last_session(CaptureReader& reader, const std::string& capture) {
  auto all = reader.sessions();
  if (!all) return all.error();
  if (all->empty()) {
    return Error{ErrorCode::not_found, capture + ": no session in this capture"};
  }
  return all->back();
}

}  // namespace

double RecorderStatus::frames_per_s() const {
  double sum = 0;
  for (const BusStatus& bus : buses) sum += bus.frames_per_s;
  return sum;
}

Result<RecorderStatus> recorder_status(const std::string& capture) {
  std::error_code failure;
  auto file = std::filesystem::weakly_canonical(capture, failure);
  if (failure) file = capture;
  auto reader = CaptureReader::open(file);
  if (!reader) return reader.error();
  const auto session = last_session(*reader, capture);
  if (!session) return session.error();
  RecorderStatus status;
  status.file = file.string();
  status.session = session->id;
  status.recording = !session->ended && RecordingLock::is_held(file);
  status.frames = session->frames;
  const auto clock = session_now_ns(*session);
  const std::int64_t end_ns = session->ended ? session->ended_ns : session->last_ns;
  const std::int64_t now_ns = clock && status.recording ? *clock : end_ns;
  if (session->frames > 0) status.last_frame_age_s = seconds(now_ns - session->last_ns);
  if (auto done = measure_traffic(*reader, *session, now_ns, status); !done) return done.error();
  if (auto done = add_losses(*reader, session->id, now_ns, status); !done) return done.error();
  if (auto done = add_health(*reader, session->id, now_ns, status); !done) return done.error();
  if (auto done = add_instruments(*reader, session->id, now_ns, status); !done) {
    return done.error();
  }
  add_sizes(file, *session, status);
  return status;
}

}  // namespace foundling
