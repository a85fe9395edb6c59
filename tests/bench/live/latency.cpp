// How long after a frame was stored (its commit returned) the MQTT message with its value is at a
// subscriber: `foundling live` over a recording of 20 messages, Debian's mosquitto on loopback.
//   live_latency [FRAMES_PER_SECOND [SECONDS]]
#include <signal.h>

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <nlohmann/json.hpp>

#include "tests/live/broker.h"
#include "tests/live/feeder.h"
#include "tests/scratch_folder.h"

int main(int argc, char** argv) {
  using namespace foundling;
  const int rate = argc > 1 ? std::atoi(argv[1]) : 2000;
  const int length_s = argc > 2 ? std::atoi(argv[2]) : 30;
  constexpr int messages = 20;
  const ScratchFolder folder;
  const std::string capture = (folder / "run.capture").string();
  const std::string map = (folder / "run.signals").string();
  std::ofstream(map) << feeder_map(messages, rate);
  Broker broker(folder.path());
  Subscriber subscriber(broker);
  Feeder feeder(capture, messages, rate);
  within(std::chrono::seconds(10), [&] { return feeder.next_number() > 0; });
  Child live({FOUNDLING_PROGRAM, "live", capture, map, "--mqtt", broker.address()},
             folder / "live.log");
  within(std::chrono::seconds(10), [&] { return !subscriber.all().empty(); });
  sleep_for(std::chrono::seconds(2));
  subscriber.forget();
  const std::uint32_t before = feeder.next_number();
  sleep_for(std::chrono::seconds(length_s));
  const std::uint32_t stored = feeder.next_number() - before;
  const auto all = subscriber.all();
  live.end(SIGTERM);
  feeder.stop();

  std::vector<double> ms;
  for (const Message& message : all) {
    if (message.topic.find("/signal/number_") == std::string::npos) continue;
    const auto json = nlohmann::json::parse(message.payload);
    if (json["state"] != "good") continue;
    const auto stored_at = feeder.stored_at(json["value"].get<std::uint32_t>());
    ms.push_back(std::chrono::duration<double, std::milli>(message.at - stored_at).count());
  }
  if (ms.empty()) {
    std::fprintf(stderr, "no values came: %s\n", live.messages().c_str());
    return 1;
  }
  std::sort(ms.begin(), ms.end());
  const auto at = [&](double share) {
    return ms[static_cast<std::size_t>(share * static_cast<double>(ms.size() - 1))];
  };
  std::printf("%u frames stored in %d s, %zu messages in all, %zu timed\n", stored, length_s,
              all.size(), ms.size());
  std::printf("stored -> subscriber: median %.1f ms, 90 %% %.1f, 99 %% %.1f, largest %.1f\n",
              at(0.5), at(0.9), at(0.99), ms.back());
  return 0;
}
