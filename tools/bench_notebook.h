// Where the virtual practitioner writes readings down while the board is transmitting: into the
// capture that a recorder is filling, into a CSV file, or both.
#pragma once

#include <cstdint>
#include <fstream>
#include <map>
#include <optional>
#include <span>
#include <string>

#include "schemas/capture/capture_writer.h"
#include "schemas/values/reading.h"
#include "schemas/values/result.h"

namespace foundling {

struct Note {
  const Channel* channel;
  Reading reading;
};

class BenchNotebook {
 public:
  // Either may be empty. The capture must have a session that is being recorded; the CSV file must
  // not be there yet.
  static Result<BenchNotebook> open(const std::string& capture, const std::string& csv);

  // Writes them with the time it is now: on the session's time line in the capture, on the wall
  // clock (seconds since 1970) in the CSV.
  Result<void> write(std::span<const Note> notes);
  Result<void> close();

 private:
  Result<void> open_capture(const std::string& capture);
  Result<void> open_csv(const std::string& csv);
  Result<void> write_capture(std::span<const Note> notes);
  Result<void> write_csv(std::span<const Note> notes);

  std::optional<CaptureWriter> writer_;
  SessionRow session_;
  std::string capture_name_;
  std::map<std::string, std::int64_t> channels_;  // name -> id in the capture
  std::ofstream csv_;
  std::string csv_name_;
};

}  // namespace foundling
