// The connection to a real broker, published to from one thread while it lives in another: what the
// thread sanitizer looks at.
#include "tools/live/mqtt_client.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "tests/live/broker.h"
#include "tests/must.h"
#include "tests/scratch_folder.h"

namespace foundling {
namespace {

using std::chrono::milliseconds;
using std::chrono::seconds;

const std::string topic = "foundling/signal/number";

std::unique_ptr<MqttClient> client_of(const Broker& broker) {
  MqttSettings settings;
  settings.host = "127.0.0.1";
  settings.port = broker.port();
  return must(MqttClient::start(settings));
}

bool says(const std::vector<std::string>& news, const std::string& part) {
  return std::any_of(news.begin(), news.end(), [&part](const std::string& text) {
    return text.find(part) != std::string::npos;
  });
}

// Publishes one number after the other until the subscriber has one of them.
bool goes_on(MqttClient& client, const Subscriber& subscriber, int& number) {
  const int first = number;
  return within(seconds(20), [&] {
    client.publish(topic, std::to_string(number++));
    const auto message = subscriber.last(topic);
    return message && std::stoi(message->payload) >= first;
  });
}

TEST_CASE("what is published from another thread arrives whole and in order") {
  const ScratchFolder folder;
  const Broker broker(folder.path());
  const Subscriber subscriber(broker);
  const auto client = client_of(broker);
  int number = 0;
  REQUIRE(goes_on(*client, subscriber, number));
  const int from = number;
  constexpr int count = 500;  // the broker itself keeps 1,000 for a slow subscriber
  for (int i = 0; i < count; ++i) {
    // Refused while too much is under way: the same again, as its user does.
    REQUIRE(within(seconds(10), [&] {
      return client->publish(topic, std::to_string(number)) == MqttClient::Sent::yes;
    }));
    ++number;
  }
  REQUIRE(within(seconds(10), [&] {
    const auto last = subscriber.last(topic);
    return last && std::stoi(last->payload) == from + count - 1;
  }));
  std::vector<int> arrived;
  for (const Message& message : subscriber.of(topic)) {
    if (const int value = std::stoi(message.payload); value >= from) arrived.push_back(value);
  }
  CHECK(arrived.size() == count);
  CHECK(std::is_sorted(arrived.begin(), arrived.end()));
  CHECK(client->connections() == 1);
}

TEST_CASE("a broker that goes away and comes back is connected to again, and told of") {
  const ScratchFolder folder;
  Broker broker(folder.path());
  const Subscriber subscriber(broker);
  const auto client = client_of(broker);
  int number = 0;
  REQUIRE(goes_on(*client, subscriber, number));
  CHECK(says(client->news(), "connected to the broker"));

  broker.stop();
  CHECK(within(seconds(10), [&] {
    client->publish(topic, std::to_string(number++));
    return says(client->news(), "is lost");
  }));
  CHECK(client->publish(topic, "-1") == MqttClient::Sent::not_now);
  broker.start();
  CHECK(goes_on(*client, subscriber, number));
  CHECK(client->connections() == 2);
  CHECK(says(client->news(), "connected to the broker"));
  CHECK_FALSE(client->refused());
}

TEST_CASE("stopped, it says offline, and without a broker it leaves all the same") {
  const ScratchFolder folder;
  Broker broker(folder.path());
  const Subscriber subscriber(broker);
  auto client = client_of(broker);
  int number = 0;
  REQUIRE(goes_on(*client, subscriber, number));
  client->stop();
  CHECK(within(seconds(5), [&] {
    const auto status = subscriber.last("foundling/status");
    return status && status->payload == R"({"state":"offline"})";
  }));

  client = client_of(broker);
  broker.stop();
  const auto started = std::chrono::steady_clock::now();
  client.reset();
  CHECK(std::chrono::steady_clock::now() - started < seconds(3));
}

}  // namespace
}  // namespace foundling
