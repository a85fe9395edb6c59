// Everything that one answer on the bench writes into a running capture, or none of it.
#pragma once

#include <filesystem>

#include "schemas/capture/capture_writer.h"
#include "schemas/values/result.h"
#include "tools/stimulus_verbs.h"

namespace foundling {

// Runs `work` in one transaction of its own; what it refuses is rolled back.
template <typename Work>
Result<void> in_one_transaction(const std::filesystem::path& capture, Work work) {
  auto writer = CaptureWriter::open(capture, stimulus_patience);
  if (!writer) return writer.error();
  if (auto begun = writer->begin(); !begun) return begun;
  if (Result<void> done = work(*writer); !done) {
    writer->rollback();
    return done;
  }
  if (auto done = writer->commit(); !done) return done;
  return writer->close();
}

}  // namespace foundling
