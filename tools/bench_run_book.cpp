#include "tools/bench_run_book.h"

#include "schemas/capture/capture_writer.h"
#include "tools/stimulus_session.h"
#include "tools/stimulus_verbs.h"

namespace foundling {
namespace {

struct Opened {
  CaptureReader reader;
  SessionRow session;
  std::int64_t now_ns;
};

Result<Opened> open(const std::filesystem::path& capture) {
  auto reader = CaptureReader::open(capture);
  if (!reader) return reader.error();
  auto session = stimulus_session(*reader, capture, {});
  if (!session) return session.error();
  const auto now = recording_now_ns(*session, capture);
  if (!now) return now.error();
  return Opened{std::move(reader).value(), std::move(session).value(), *now};
}

// Runs `work` in one transaction.
template <typename Work>
Result<void> in_one(const std::filesystem::path& capture, Work work) {
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

}  // namespace

Result<std::int64_t> RunBook::now() {
  const auto opened = open(capture_);
  if (!opened) return opened.error();
  return opened->now_ns;
}

Result<void> RunBook::mark(std::string_view kind, const std::string& text) {
  const auto opened = open(capture_);
  if (!opened) return opened.error();
  return in_one(capture_, [&](CaptureWriter& writer) -> Result<void> {
    const auto made =
        writer.add_mark(opened->session.id, {opened->now_ns, std::string(kind), text});
    if (!made) return made.error();
    return {};
  });
}

Result<void> RunBook::write(std::vector<RunEntry>& entries) {
  const auto opened = open(capture_);
  if (!opened) return opened.error();
  return in_one(capture_, [&](CaptureWriter& writer) -> Result<void> {
    for (RunEntry& entry : entries) {
      entry.reading.t_ns = opened->now_ns;
      const auto channel = writer.ensure_channel(entry.channel);
      if (!channel) return channel.error();
      const auto number = writer.add_reading(opened->session.id, *channel, entry.reading);
      if (!number) return number.error();
      entry.number = *number;
    }
    return {};
  });
}

Result<void> RunBook::correct(std::vector<RunEntry>& entries) {
  return in_one(capture_, [&](CaptureWriter& writer) -> Result<void> {
    for (RunEntry& entry : entries) {
      const auto number = writer.supersede(entry.number, entry.reading);
      if (!number) return number.error();
      entry.number = *number;
    }
    return {};
  });
}

Result<void> RunBook::withdraw(const std::vector<RunEntry>& entries) {
  return in_one(capture_, [&](CaptureWriter& writer) -> Result<void> {
    for (const RunEntry& entry : entries) {
      if (auto done = writer.withdraw(entry.number); !done) return done;
    }
    return {};
  });
}

Result<std::vector<StoredMark>> RunBook::marks() {
  auto opened = open(capture_);
  if (!opened) return opened.error();
  return opened->reader.marks(opened->session.id);
}

Result<std::vector<Channel>> RunBook::channels() {
  auto opened = open(capture_);
  if (!opened) return opened.error();
  return opened->reader.channels();
}

Result<std::vector<Reading>> RunBook::readings_since(const std::string& channel,
                                                     std::int64_t from_ns) {
  auto opened = open(capture_);
  if (!opened) return opened.error();
  const auto all = opened->reader.readings(opened->session.id);
  if (!all) return all.error();
  std::vector<Reading> found;
  for (const StoredReading& stored : *all) {
    const bool valid = stored.superseded_by == 0 && stored.channel.name == channel;
    if (valid && stored.reading.t_ns >= from_ns) found.push_back(stored.reading);
  }
  return found;
}

}  // namespace foundling
