// Where batches go: the capture, or a stand-in for it in tests.
#pragma once

#include <cstdint>

#include "daemon/record_queue.h"
#include "schemas/values/result.h"

namespace foundling {

class RecordSink {
 public:
  RecordSink() = default;
  RecordSink(const RecordSink&) = delete;
  RecordSink& operator=(const RecordSink&) = delete;
  virtual ~RecordSink() = default;

  // All of it, or nothing. A batch that failed is to be handed over again before any other.
  virtual Result<void> store(const RecordBatch& batch) = 0;

  // Frames that were stored and are lost all the same, since the last call: they went with a file
  // that was removed. The sink has a gap for them.
  virtual std::uint64_t take_removed() { return 0; }
};

}  // namespace foundling
