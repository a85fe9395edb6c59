// Kills a recorder without warning and says how much of the time before is missing in its capture.
//   kill_recorder PROCESS CAPTURE       exit 1: more than 250 ms
// Frames must have been coming in at a rate well above one in 250 ms.
#include <signal.h>

#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <thread>

#include "schemas/capture/capture_reader.h"
#include "schemas/capture/session_clock.h"

int main(int argc, char** argv) {
  if (argc != 3) return std::fputs("kill_recorder PROCESS CAPTURE\n", stderr), 2;
  const std::int64_t killed_ns = foundling::boottime_now_ns();
  if (kill(std::atoi(argv[1]), SIGKILL) != 0) return std::perror("kill"), 2;
  std::this_thread::sleep_for(std::chrono::milliseconds(300));
  auto capture = foundling::CaptureReader::open(argv[2]);
  if (!capture) return std::printf("%s\n", capture.error().message.c_str()), 1;
  const auto session = capture->session({});
  if (!session) return std::printf("%s\n", session.error().message.c_str()), 1;
  const std::int64_t last_ns = session->info.started_boot_ns + session->last_ns;
  const double missing_ms = static_cast<double>(killed_ns - last_ns) * 1e-6;
  std::printf("killed: the last %.0f ms are missing\n", missing_ms);
  return missing_ms <= 250 ? 0 : 1;
}
