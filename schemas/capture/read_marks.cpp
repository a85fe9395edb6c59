// The reader's part for marks and instruments, which came with version 2.
#include "schemas/capture/reader_state.h"

namespace foundling {

using capture_file::Statement;

Result<std::vector<StoredMark>> CaptureReader::marks(std::int64_t session) {
  std::vector<StoredMark> all;
  if (state_->version < 2) return all;
  auto done = state_->each_row(
      "SELECT id, t_ns, kind, text, superseded_by FROM mark WHERE session = ?1 ORDER BY t_ns, id",
      "table mark", {session}, [&](const Statement& row) {
        all.push_back(
            {row.integer(0), {row.time(1), row.text(2), row.text(3)}, row.integer_or_null(4)});
        return Result<bool>(true);
      });
  if (!done) return done.error();
  return all;
}

Result<std::vector<InstrumentState>> CaptureReader::instruments(std::int64_t session) {
  std::vector<InstrumentState> all;
  if (state_->version < 2) return all;
  auto done = state_->each_row(
      "SELECT t_ns, name, state, identity, readings, refused, detail, id FROM instrument"
      " WHERE id IN (SELECT max(id) FROM instrument WHERE session = ?1 GROUP BY name)"
      " ORDER BY name",
      "table instrument", {session}, [&](const Statement& row) {
        all.push_back({row.time(0), row.text(1), row.text(2), row.text(3),
                       static_cast<std::uint64_t>(row.count(4)),
                       static_cast<std::uint64_t>(row.count(5)), row.text(6)});
        return Result<bool>(true);
      });
  if (!done) return done.error();
  return all;
}

}  // namespace foundling
