// The reader's part for channels, readings and what happened on the bus.
#include <algorithm>
#include <string>

#include "schemas/capture/reader_state.h"

namespace foundling {

using capture_file::Statement;

namespace {

Channel channel_of(const Statement& row, int first_column) {
  Channel channel;
  channel.name = row.text(first_column);
  channel.unit = row.text(first_column + 1);
  channel.kind = row.text(first_column + 2) == "sample" ? ChannelKind::sample : ChannelKind::hold;
  return channel;
}

StoredReading reading_of(const Statement& row) {
  StoredReading stored;
  stored.id = row.integer(0);
  stored.channel = channel_of(row, 1);
  stored.reading.t_ns = row.time(4);
  stored.reading.value = row.is_null(5) ? 0 : row.real(5);
  stored.reading.uncertainty = row.real(6);
  stored.reading.state = row.text_or_null(7);
  stored.superseded_by = row.integer_or_null(8);
  if (!row.is_null(9)) stored.reading.earliest_ns = row.time(9);
  stored.reading.id = stored.id;
  return stored;
}

// The earliest moment came with version 3.
std::string readings_sql(std::int64_t version) {
  return std::string(
             "SELECT reading.id, name, unit, kind, t_ns, value, uncertainty, state, "
             "superseded_by,") +
         (version < 3 ? " NULL" : " earliest_ns") +
         " FROM reading JOIN channel ON channel.id = reading.channel WHERE session = ?1"
         " ORDER BY name, t_ns, reading.id";
}

}  // namespace

Result<void> CaptureReader::State::each_reading(std::int64_t session,
                                                const std::function<void(StoredReading)>& visit) {
  return each_row(
      readings_sql(version), "table reading", {session}, [&](const Statement& row) -> Result<bool> {
        StoredReading stored = reading_of(row);
        if (stored.reading.earliest_ns > stored.reading.t_ns) {
          return Error{ErrorCode::format, database.path().string() + ": table reading, row " +
                                              std::to_string(stored.id) +
                                              ": earliest_ns lies after t_ns"};
        }
        visit(std::move(stored));
        return true;
      });
}

Result<std::vector<Channel>> CaptureReader::channels() {
  std::vector<Channel> all;
  auto done = state_->each_row("SELECT name, unit, kind, id FROM channel ORDER BY name",
                               "table channel", {}, [&](const Statement& row) {
                                 all.push_back(channel_of(row, 0));
                                 return Result<bool>(true);
                               });
  if (!done) return done.error();
  return all;
}

Result<std::vector<StoredReading>> CaptureReader::readings(std::int64_t session) {
  std::vector<StoredReading> all;
  auto done = state_->each_reading(session,
                                   [&](StoredReading stored) { all.push_back(std::move(stored)); });
  if (!done) return done.error();
  return all;
}

Result<std::vector<ChannelSeries>> CaptureReader::channel_series(std::int64_t session) {
  std::vector<ChannelSeries> all;
  auto done = state_->each_reading(session, [&](StoredReading stored) {
    if (stored.superseded_by != 0) return;
    if (all.empty() || all.back().channel.name != stored.channel.name) {
      all.push_back({stored.channel, {}});
    }
    all.back().readings.push_back(std::move(stored.reading));
  });
  if (!done) return done.error();
  return all;
}

Result<std::vector<BusEvent>> CaptureReader::events(std::int64_t session) {
  std::vector<BusEvent> all;
  auto done = state_->each_row(
      "SELECT t_ns, bus, can_id, data, kind, detail, id FROM bus_event WHERE session = ?1"
      " ORDER BY t_ns, id",
      "table bus_event", {session}, [&](const Statement& row) {
        BusEvent event;
        event.t_ns = row.time(0);
        event.bus = static_cast<std::uint8_t>(row.integer(1));
        event.can_id = static_cast<std::uint32_t>(row.integer(2));
        const auto data = row.blob(3);
        std::copy_n(data.begin(), std::min(data.size(), event.data.size()), event.data.begin());
        event.kind = row.text(4);
        event.detail = row.text(5);
        all.push_back(std::move(event));
        return Result<bool>(true);
      });
  if (!done) return done.error();
  return all;
}

Result<std::vector<Gap>> CaptureReader::gaps(std::int64_t session) {
  std::vector<Gap> all;
  auto done = state_->each_row(
      "SELECT from_ns, to_ns, bus, frames_lost, why, id FROM gap WHERE session = ?1"
      " ORDER BY from_ns, id",
      "table gap", {session}, [&](const Statement& row) {
        all.push_back({row.time(0), row.time(1), static_cast<std::uint8_t>(row.integer(2)),
                       static_cast<std::uint64_t>(row.count(3)), row.text(4)});
        return Result<bool>(true);
      });
  if (!done) return done.error();
  return all;
}

Result<std::vector<ClockMark>> CaptureReader::clock_marks(std::int64_t session) {
  std::vector<ClockMark> all;
  auto done = state_->each_row(
      "SELECT t_ns, wall_ns, step_ns, id FROM clock WHERE session = ?1 ORDER BY t_ns, id",
      "table clock", {session}, [&](const Statement& row) {
        all.push_back({row.time(0), row.wall_time(1), row.wall_time(2)});
        return Result<bool>(true);
      });
  if (!done) return done.error();
  return all;
}

namespace {

constexpr const char* health_columns =
    "SELECT t_ns, frames, lost, queued, commit_ns, disk_free_bytes, note, id FROM health"
    " WHERE session = ?1 ORDER BY ";

Health health_of(const Statement& row) {
  return {row.time(0),
          static_cast<std::uint64_t>(row.count(1)),
          static_cast<std::uint64_t>(row.count(2)),
          static_cast<std::uint64_t>(row.count(3)),
          row.time(4),
          static_cast<std::uint64_t>(row.count(5)),
          row.text(6)};
}

}  // namespace

Result<std::vector<Health>> CaptureReader::health(std::int64_t session) {
  std::vector<Health> all;
  auto done = state_->each_row(std::string(health_columns) + "t_ns, id", "table health", {session},
                               [&](const Statement& row) {
                                 all.push_back(health_of(row));
                                 return Result<bool>(true);
                               });
  if (!done) return done.error();
  return all;
}

// Rows are inserted in order of time, so the last one is found without reading the others.
Result<std::optional<Health>> CaptureReader::last_health(std::int64_t session) {
  std::optional<Health> last;
  auto done = state_->each_row(std::string(health_columns) + "id DESC", "table health", {session},
                               [&](const Statement& row) {
                                 last = health_of(row);
                                 return Result<bool>(false);
                               });
  if (!done) return done.error();
  return last;
}

}  // namespace foundling
