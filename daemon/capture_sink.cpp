#include "daemon/capture_sink.h"

namespace foundling {

Result<void> CaptureSink::store(const RecordBatch& batch) {
  if (auto begun = writer_.begin(); !begun) return begun;
  Result<void> outcome = add_all(batch);
  if (outcome) outcome = writer_.commit();
  if (!outcome) writer_.rollback();
  return outcome;
}

Result<void> CaptureSink::add_all(const RecordBatch& batch) {
  Result<void> outcome = writer_.add_frames(session_, batch.frames);
  const auto add_each = [&](const auto& rows, auto add) {
    for (const auto& row : rows) {
      if (!outcome) return;
      outcome = (writer_.*add)(session_, row);
    }
  };
  add_each(batch.events, &CaptureWriter::add_event);
  add_each(batch.gaps, &CaptureWriter::add_gap);
  add_each(batch.clock, &CaptureWriter::add_clock);
  add_each(batch.health, &CaptureWriter::add_health);
  return outcome;
}

}  // namespace foundling
