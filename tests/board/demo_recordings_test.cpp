// The small recordings in captures_demo/ are what the program would write today.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <sstream>

#include "schemas/capture/capture_reader.h"
#include "tools/board/session.h"
#include "tools/board/session_csv.h"

namespace foundling::board {
namespace {

namespace fs = std::filesystem;

const fs::path folder = FOUNDLING_SOURCE_DIR "/captures_demo";

std::string text_of(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::stringstream text;
  text << file.rdbuf();
  return text.str();
}

bool same(const Frame& a, const Frame& b) {
  return a.t_ns == b.t_ns && a.id == b.id && a.bus == b.bus && a.flags == b.flags &&
         a.length == b.length && a.payload == b.payload;
}

bool same(const Reading& a, const Reading& b) {
  const bool uncertainty =
      a.uncertainty == b.uncertainty || (std::isnan(a.uncertainty) && std::isnan(b.uncertainty));
  return a.t_ns == b.t_ns && a.state == b.state && uncertainty &&
         (a.value == b.value || !a.state.empty());
}

std::string stem(int number) { return "tractor-" + std::to_string(number); }

}  // namespace

TEST_CASE("the small CSV files are what foundling demo --small --csv writes") {
  for (const int number : {1, 2}) {
    CAPTURE(number);
    const BenchSession session = run_session(session_options(number, true));
    std::ostringstream frames;
    write_frames_csv(frames, session);
    CHECK(text_of(folder / (stem(number) + "-frames.csv")) == frames.str());
    std::ostringstream stimulus;
    write_stimulus_csv(stimulus, session);
    CHECK(text_of(folder / (stem(number) + "-stimulus.csv")) == stimulus.str());
  }
}

TEST_CASE("the small captures hold what foundling demo --small writes") {
  for (const int number : {1, 2}) {
    CAPTURE(number);
    const BenchSession session = run_session(session_options(number, true));
    auto reader = CaptureReader::open(folder / (stem(number) + ".capture"));
    REQUIRE_MESSAGE(reader.ok(), reader.error().message);
    std::vector<Frame> frames;
    const auto read = reader->for_each_frame(1, time_from_start, time_to_end, [&](const Frame& f) {
      frames.push_back(f);
      return true;
    });
    REQUIRE(read.ok());
    REQUIRE(frames.size() == session.frames.size());
    for (std::size_t i = 0; i < frames.size(); ++i) CHECK(same(frames[i], session.frames[i]));
    const auto stored = reader->channel_series(1);
    REQUIRE(stored.ok());
    CHECK(stored->size() == session.channels.size());
    for (const ChannelSeries& wanted : session.channels) {
      CAPTURE(wanted.channel.name);
      const auto found = std::find_if(stored->begin(), stored->end(), [&](const ChannelSeries& s) {
        return s.channel.name == wanted.channel.name;
      });
      REQUIRE(found != stored->end());
      CHECK(found->channel.unit == wanted.channel.unit);
      CHECK(std::equal(found->readings.begin(), found->readings.end(), wanted.readings.begin(),
                       wanted.readings.end(),
                       [](const Reading& a, const Reading& b) { return same(a, b); }));
    }
  }
}

TEST_CASE("the demo recordings stay small and say that they are invented") {
  std::uintmax_t total = 0;
  for (const fs::directory_entry& entry : fs::directory_iterator(folder)) {
    CAPTURE(entry.path().filename().string());
    CHECK(entry.file_size() < 300 * 1024);
    total += entry.file_size();
  }
  CHECK(total < 1536 * 1024);
  for (const int number : {1, 2}) {
    auto reader = CaptureReader::open(folder / (stem(number) + ".capture"));
    REQUIRE(reader.ok());
    const auto row = reader->session(1);
    REQUIRE(row.ok());
    CHECK(row->info.pack.find("(invented)") != std::string::npos);
    CHECK(row->info.note.find("simulated") != std::string::npos);
  }
  CHECK(text_of(folder / "README.md").find("invented") != std::string::npos);
}

}  // namespace foundling::board
