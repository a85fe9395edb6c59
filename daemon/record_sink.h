// Where batches go: the capture, or a stand-in for it in tests.
#pragma once

#include "daemon/record_queue.h"
#include "schemas/values/result.h"

namespace foundling {

class RecordSink {
 public:
  RecordSink() = default;
  RecordSink(const RecordSink&) = delete;
  RecordSink& operator=(const RecordSink&) = delete;
  virtual ~RecordSink() = default;

  virtual Result<void> store(const RecordBatch& batch) = 0;  // all of it, or nothing
};

}  // namespace foundling
