// What goes to a real broker when one signal cannot go.
#include "tools/live/mqtt_publisher.h"

#include <doctest/doctest.h>

#include "schemas/signals/read.h"
#include "tests/live/broker.h"
#include "tests/must.h"
#include "tests/scratch_folder.h"

namespace foundling {
namespace {

using std::chrono::milliseconds;
using std::chrono::seconds;

TEST_CASE("a signal that the library refuses is said once, and stops none of those after it") {
  const ScratchFolder folder;
  const Broker broker(folder.path());
  const Subscriber subscriber(broker);
  MqttSettings settings;
  settings.host = "127.0.0.1";
  settings.port = broker.port();
  const auto client = must(MqttClient::start(settings));

  SignalMap map =
      read_signals(
          "foundling signals 1\nmessage 100 every 100 ms length 8\n  signal a\n    bits "
          "0.7..0.0\n  signal b\n    bits 1.7..1.0\n  signal c\n    bits 2.7..2.0\n")
          .map;
  REQUIRE(map.messages.size() == 1);
  map.messages[0].signals[0].name = std::string(70'000, 'a');  // MQTT 5.0, 1.5.4: 65,535 bytes
  map.messages[0].signals[1].name = "b\xC2\x85";
  const LiveValues values(map);
  REQUIRE(values.size() == 3);
  MqttPublisher publisher(*client, values, {true, true, true}, "foundling", 0);
  std::vector<std::string> news;
  std::int64_t now_ns = 0;
  const bool last_came = within(seconds(10), [&] {
    publisher.send(0, 0, now_ns += 1'000'000);
    for (std::string& text : publisher.news()) news.push_back(std::move(text));
    return subscriber.last("foundling/signal/c").has_value();
  });
  CHECK(last_came);
  CHECK(
      within(seconds(5), [&] { return subscriber.last("foundling/signal/b%C2%85").has_value(); }));
  publisher.send(0, 0, now_ns += 1'000'000);
  for (std::string& text : publisher.news()) news.push_back(std::move(text));
  REQUIRE(news.size() == 1);
  CHECK(news.front().find("cannot be sent over MQTT and is left out") != std::string::npos);
  CHECK(news.front().size() < 200);
}

}  // namespace
}  // namespace foundling
