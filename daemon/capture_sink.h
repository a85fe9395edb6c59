// Stores batches in a capture's session, each in one transaction.
#pragma once

#include <cstdint>

#include "daemon/record_sink.h"
#include "schemas/capture/capture_writer.h"

namespace foundling {

class CaptureSink final : public RecordSink {
 public:
  // The writer must outlive the sink and, while it is in use, belongs to its thread.
  CaptureSink(CaptureWriter& writer, std::int64_t session) : writer_(writer), session_(session) {}

  Result<void> store(const RecordBatch& batch) override;

 private:
  Result<void> add_all(const RecordBatch& batch);

  CaptureWriter& writer_;
  std::int64_t session_;
};

}  // namespace foundling
