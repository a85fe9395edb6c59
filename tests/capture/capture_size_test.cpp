// Bytes on disk a frame. Budget: 32 for 8-byte frames with 11-bit identifiers.
#include <doctest/doctest.h>

#include <cstdint>
#include <vector>

#include "schemas/capture/capture_writer.h"
#include "tests/must.h"
#include "tests/scratch_folder.h"

namespace foundling {
namespace {

double bytes_a_frame(CanId id, std::int64_t start_ns) {
  const ScratchFolder folder;
  constexpr std::int64_t frames = 200'000;
  auto writer = must(CaptureWriter::create(folder / "a.capture"));
  const auto session = must(writer.begin_session({}));
  const auto empty = std::filesystem::file_size(folder / "a.capture");
  must(writer.begin());
  std::vector<Frame> batch;
  for (std::int64_t i = 0; i < frames; ++i) {
    Frame frame;
    frame.t_ns = start_ns + i * 500'000;  // 2,000 a second
    frame.id = id;
    frame.length = 8;
    frame.payload[0] = static_cast<std::uint8_t>(i);
    batch.push_back(frame);
  }
  must(writer.add_frames(session, batch));
  must(writer.commit());
  must(writer.close());
  const auto full = std::filesystem::file_size(folder / "a.capture");
  return static_cast<double>(full - empty) / static_cast<double>(frames);
}

constexpr std::int64_t hour_ns = 3'600'000'000'000;

TEST_CASE("a frame of 8 bytes with an 11-bit identifier stays within 32 bytes on the disk") {
  const double first_hours = bytes_a_frame(CanId::standard(0x1A4), hour_ns);
  MESSAGE("11 bit, first 39 hours: " << first_hours << " bytes a frame");
  CHECK(first_hours <= 32);
}

TEST_CASE("a 29-bit identifier and a session of days cost some bytes more") {
  const double extended = bytes_a_frame(CanId::extended(0x18FEF100), hour_ns);
  const double days = bytes_a_frame(CanId::standard(0x1A4), 100 * hour_ns);
  MESSAGE("29 bit, first 39 hours: " << extended << " bytes a frame");
  MESSAGE("11 bit, after 39 hours: " << days << " bytes a frame");
  CHECK(extended <= 36);
  CHECK(days <= 34);
}

}  // namespace
}  // namespace foundling
