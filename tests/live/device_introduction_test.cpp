// How the signals introduce themselves, by a real broker, against what home-automation servers ask
// of such a message (the public page on MQTT discovery of the server that set the form, "Device
// discovery payload": device with identifiers, origin with name, and of each component platform
// and unique_id; its pages on the MQTT sensor and on sensors' device classes).
#include "tools/live/device_introduction.h"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

#include "schemas/signals/read.h"
#include "tests/live/broker.h"
#include "tests/must.h"
#include "tests/scratch_folder.h"
#include "tools/live/mqtt_publisher.h"

namespace foundling {
namespace {

using nlohmann::json;
using std::chrono::seconds;

constexpr std::int64_t second = 1'000'000'000;
constexpr const char* some_map =
    "foundling signals 1\nboard \"orchard tractor\"\n"
    "message 100 every 100 ms length 8\n"
    "  signal pack_voltage\n    bits 0.7..0.0\n    value = raw * 1 V\n"
    "  signal stored\n    bits 1.7..1.0\n    value = raw * 0.1 kWh\n"
    "  signal door\n    bits 2.7..2.0\n    state 0 = open\n    state 1 = shut\n"
    "    state 2 = shut\n"
    "  signal \"a/b\"\n    bits 3.7..3.0\n"
    "message 200 every 4 s length 1\n"
    "  signal slow\n    bits 0.7..0.0\n    value = raw * 1 l/min\n"
    "message 300 length 1\n"
    "  signal left_out\n    bits 0.7..0.0\n";

struct Introduced {
  SignalMap map = read_signals(some_map).map;
  LiveValues values{map};
  DeviceIntroduction introduction{
      values, {true, true, true, true, true, false}, {"shed-1", map.board, "1.0", "store", second}};
};

}  // namespace

TEST_CASE("a device's message names every sensor with class, unit, topic and how long it counts") {
  Introduced one;
  REQUIRE(one.values.size() == 6);
  CHECK(one.introduction.topic() == "homeassistant/device/shed-1/config");
  const json all = json::parse(one.introduction.due().value());
  CHECK(all["device"] == json{{"identifiers", {"shed-1"}}, {"name", "orchard tractor"}});
  CHECK(all["origin"] == json{{"name", "foundling"}, {"sw_version", "1.0"}});
  CHECK(all["availability_topic"] == "store/status");
  const json& sensors = all["components"];
  CHECK(sensors.size() == 5);
  const json& voltage = sensors["pack_voltage"];
  CHECK(voltage["platform"] == "sensor");
  CHECK(voltage["unique_id"] == "shed-1_pack_voltage");
  CHECK(voltage["device_class"] == "voltage");
  CHECK(voltage["state_class"] == "measurement");
  CHECK(voltage["unit_of_measurement"] == "V");
  CHECK(voltage["state_topic"] == "store/signal/pack_voltage");
  // It counts for a second, and comes at most once a second.
  CHECK(voltage["expire_after"].get<int>() > 2);
  CHECK(voltage["expire_after"].get<int>() < 5);
  CHECK(sensors["stored"]["device_class"] == "energy_storage");
  CHECK(sensors["door"]["device_class"] == "enum");
  CHECK(sensors["door"]["options"] == json{"open", "shut"});
  CHECK_FALSE(sensors["door"].contains("state_class"));
  CHECK_FALSE(sensors["door"].contains("unit_of_measurement"));
  CHECK(sensors["a%2Fb"]["state_topic"] == "store/signal/a%2Fb");
  CHECK_FALSE(sensors["a%2Fb"].contains("unit_of_measurement"));
  CHECK_FALSE(sensors["a%2Fb"].contains("device_class"));
  CHECK(sensors["slow"]["unit_of_measurement"] == "L/min");
  CHECK(sensors["slow"]["expire_after"].get<int>() > 21);
}

TEST_CASE(
    "the message is made again only where a value counts for longer, or when it may be lost") {
  Introduced one;
  REQUIRE(one.introduction.due());
  CHECK_FALSE(one.introduction.due());
  one.introduction.forget();
  CHECK(one.introduction.due());
  // The board is slower than its map says.
  Frame frame;
  frame.id = CanId::standard(0x200);
  frame.length = 1;
  for (int i = 0; i < 20; ++i) {
    frame.t_ns = i * 10 * second;
    one.values.take(frame);
  }
  const auto again = one.introduction.due();
  REQUIRE(again);
  CHECK(json::parse(*again)["components"]["slow"]["expire_after"].get<int>() > 51);
  CHECK_FALSE(one.introduction.due());
}

TEST_CASE("a device's name at the broker is of letters, digits, _ and -") {
  CHECK(can_be_device("shed-1_a"));
  for (const std::string bad : {"", "a/b", "a b", "a#", "\xC3\xBC"})
    CHECK_FALSE(can_be_device(bad));
  CHECK_FALSE(can_be_device(std::string(65, 'a')));
}

TEST_CASE("a real broker keeps the introduction for who comes later, also after it was restarted") {
  const ScratchFolder folder;
  Broker broker(folder.path());
  Introduced one;
  MqttSettings settings;
  settings.host = "127.0.0.1";
  settings.port = broker.port();
  settings.prefix = "store";
  const auto client = must(MqttClient::start(settings));
  MqttPublisher publisher(*client, one.values, std::vector<bool>(6, true), "store", second);
  publisher.introduce(one.introduction);
  std::int64_t now_ns = 0;
  const auto kept = [&] {
    const Subscriber later(broker);
    return within(seconds(10), [&] {
      publisher.send(0, 0, now_ns += second);
      const auto message = later.last("homeassistant/device/shed-1/config");
      return message && json::parse(message->payload)["components"].size() == 5;
    });
  };
  CHECK(kept());
  const Subscriber later(broker);
  REQUIRE(
      within(seconds(5), [&] { return !later.of("homeassistant/device/shed-1/config").empty(); }));
  CHECK(later.of("homeassistant/device/shed-1/config").front().retained);
  broker.stop();
  broker.start();
  CHECK(kept());
}

}  // namespace foundling
