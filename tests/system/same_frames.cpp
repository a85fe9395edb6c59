// Holds what was recorded against what was played: the same frames, each once, in the same order,
// with no byte changed and no gap, in a file that is whole.
//   same_frames PLAYED.capture RECORDED.capture
// Times are the sender's to keep and not compared here, but for never running backwards.
#include <cinttypes>
#include <cstdio>
#include <vector>

#include "schemas/capture/capture_reader.h"
#include "tests/system/whole_file.h"

namespace {

using foundling::CaptureReader;
using foundling::Frame;

struct Recording {
  std::vector<Frame> frames;
  std::size_t gaps = 0;
};

foundling::Result<Recording> read(const char* path) {
  auto capture = CaptureReader::open(path);
  if (!capture) return capture.error();
  const auto session = capture->session(std::nullopt);
  if (!session) return session.error();
  const auto gaps = capture->gaps(session->id);
  if (!gaps) return gaps.error();
  Recording recording;
  recording.gaps = gaps->size();
  const auto visited = capture->for_each_frame(session->id, foundling::time_from_start,
                                               foundling::time_to_end, [&](const Frame& frame) {
                                                 recording.frames.push_back(frame);
                                                 return true;
                                               });
  if (!visited) return visited.error();
  return recording;
}

bool same(const Frame& a, const Frame& b) {
  return a.id == b.id && a.flags == b.flags && a.length == b.length && a.payload == b.payload;
}

// The first place where the two part, or their common end.
std::size_t common(const std::vector<Frame>& played, const std::vector<Frame>& recorded) {
  std::size_t i = 0;
  while (i < played.size() && i < recorded.size() && same(played[i], recorded[i]) &&
         (i == 0 || recorded[i].t_ns >= recorded[i - 1].t_ns)) {
    ++i;
  }
  return i;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 3) return std::fputs("same_frames PLAYED.capture RECORDED.capture\n", stderr), 2;
  const auto played = read(argv[1]);
  const auto recorded = read(argv[2]);
  for (const auto* side : {&played, &recorded}) {
    if (!*side) return std::printf("%s\n", side->error().message.c_str()), 1;
  }
  const std::size_t alike = common(played->frames, recorded->frames);
  std::printf("played %zu frames, recorded %zu with %zu gaps, the first %zu are the same\n",
              played->frames.size(), recorded->frames.size(), recorded->gaps, alike);
  const bool good = alike == played->frames.size() && alike == recorded->frames.size() &&
                    alike > 0 && recorded->gaps == 0 && foundling::guest::is_whole(argv[2]);
  std::puts(good ? "as it should be" : "NOT as it should be");
  return good ? 0 : 1;
}
