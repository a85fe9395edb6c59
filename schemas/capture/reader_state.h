// What the reader keeps while a capture is open, and how it walks rows.
// For the reader's own sources only.
#pragma once

#include <functional>
#include <initializer_list>
#include <string_view>
#include <utility>
#include <vector>

#include "schemas/capture/capture_reader.h"
#include "schemas/capture/database.h"

namespace foundling {

struct CaptureReader::State {
  capture_file::Database database;
  std::int64_t version;  // of the file: what came later is not there

  State(capture_file::Database opened, std::int64_t file_version)
      : database(std::move(opened)), version(file_version) {}

  // Calls visit(row) for each row until it answers false or an error. `values` are bound to ?1...
  template <typename Visit>
  Result<void> each_row(std::string_view sql, std::string_view doing,
                        std::initializer_list<std::int64_t> values, Visit visit);

  struct LoadedFrames {
    std::vector<MessageSeries> messages;
    std::vector<FdMessage> fd_messages;
  };
  Result<LoadedFrames> load_frames(std::int64_t session);
  // By channel's name, then in order of time; superseded ones included.
  Result<void> each_reading(std::int64_t session, const std::function<void(StoredReading)>& visit);
  [[nodiscard]] Error bad_frame(std::int64_t row, const char* what) const;
};

template <typename Visit>
Result<void> CaptureReader::State::each_row(std::string_view sql, std::string_view doing,
                                            std::initializer_list<std::int64_t> values,
                                            Visit visit) {
  auto statement = database.prepare(sql, doing);
  if (!statement) return statement.error();
  database.limit_steps();
  int index = 0;
  for (const std::int64_t value : values) statement->bind(++index, value);
  for (;;) {
    const capture_file::Step step = statement->step();
    if (step == capture_file::Step::failed) return database.error(doing);
    if (step == capture_file::Step::done) return {};
    Result<bool> go_on = visit(std::as_const(*statement));
    if (auto fault = statement->fault(); !fault.empty()) {
      return Error{ErrorCode::format,
                   database.path().string() + ": " + std::string(doing) + ": " + fault};
    }
    if (!go_on) return go_on.error();
    if (!*go_on) return {};
  }
}

}  // namespace foundling
