// Everything that a command may ask of a capture, read to an end or to an error.
#pragma once

#include "schemas/capture/capture_reader.h"

namespace foundling::test {

inline void read_everything(CaptureReader& reader) {
  (void)reader.sessions();
  (void)reader.load(1);
  (void)reader.readings(1);
  (void)reader.events(1);
  (void)reader.marks(1);
  (void)reader.instruments(1);
  (void)reader.gaps(1);
  (void)reader.clock_marks(1);
  (void)reader.health(1);
  (void)reader.for_each_frame(1, time_from_start, time_to_end, [](const Frame&) { return true; });
}

}  // namespace foundling::test
