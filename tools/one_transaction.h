// Everything that one answer on the bench writes into a running capture, or none of it.
#pragma once

#include <filesystem>
#include <string>

#include "schemas/capture/capture_writer.h"
#include "schemas/values/result.h"
#include "tools/rolled_captures.h"
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

// The same, if the session is still being recorded by then: what comes after its end belongs into
// the file that the recording has rolled over to, and would not be carried there any more.
template <typename Work>
Result<void> in_running_session(const std::filesystem::path& capture, std::int64_t session,
                                Work work) {
  return in_one_transaction(capture, [&](CaptureWriter& writer) -> Result<void> {
    const auto ended = writer.has_ended(session);
    if (!ended) return ended.error();
    if (!*ended) return work(writer);
    return Error{ErrorCode::usage,
                 capture.string() + ": session " + std::to_string(session) + " has just ended"};
  });
}

// Runs `work`, which opens the capture by this name, and runs it again where it failed because the
// recording rolled over meanwhile: then the name leads elsewhere.
template <typename Work>
auto over_rolls(const std::filesystem::path& name, Work work) -> decltype(work()) {
  for (int more = 2;; --more) {  // a file lasts longer than one such attempt
    const std::filesystem::path file = behind(name);
    auto done = work();
    if (done.ok() || more == 0 || behind(name) == file) return done;
  }
}

}  // namespace foundling
