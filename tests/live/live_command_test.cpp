// `foundling live` as a program: a recording that goes on, Debian's mosquitto, and the OpenMetrics
// parser of the Prometheus project's Python client (Debian's python3-prometheus-client).
#include <doctest/doctest.h>
#include <signal.h>

#include <cmath>
#include <ctime>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>

#include "tests/house/program.h"
#include "tests/live/broker.h"
#include "tests/live/feeder.h"
#include "tests/scratch_folder.h"

namespace foundling {
namespace {

using std::chrono::milliseconds;
using std::chrono::seconds;

constexpr int messages = 4;
constexpr int rate = 200;
const std::string number = "foundling/signal/number_000";

std::string written(const ScratchFolder& folder, const std::string& name, const std::string& text) {
  const std::string path = (folder / name).string();
  std::ofstream(path, std::ios::binary) << text;
  return path;
}

// A recording, its map, and the program over it.
struct Bench {
  ScratchFolder folder;
  std::string capture = (folder / "run.capture").string();
  std::string map = written(folder, "run.signals", feeder_map(messages, rate));
  std::unique_ptr<Feeder> feeder;
  std::unique_ptr<Child> live;

  void record(const FilePolicy& policy = {}, std::uint32_t first = 0) {
    feeder = std::make_unique<Feeder>(capture, messages, rate, policy, first);
    REQUIRE(within(seconds(10), [this, first] { return feeder->next_number() > first; }));
  }
  void run(const std::vector<std::string>& options) {
    std::vector<std::string> words{FOUNDLING_PROGRAM, "live", capture, map};
    words.insert(words.end(), options.begin(), options.end());
    live = std::make_unique<Child>(words, folder / "live.log");
  }
};

nlohmann::json last_json(const Subscriber& subscriber, const std::string& topic) {
  const auto message = subscriber.last(topic);
  return message ? nlohmann::json::parse(message->payload) : nlohmann::json::object();
}

// A value that was recorded from now on arrives as good.
bool goes_on(const Bench& bench, const Subscriber& subscriber) {
  const std::uint32_t from = bench.feeder->next_number();
  return within(seconds(20), [&] {
    const auto json = last_json(subscriber, number);
    return json.value("state", "") == "good" && json["value"].get<double>() > from;
  });
}

std::string parsed_by_prometheus(const ScratchFolder& folder, int port) {
  const std::string script = written(
      folder, "parse.py",
      "import sys, urllib.request\n"
      "from prometheus_client.openmetrics.parser import text_string_to_metric_families as parse\n"
      "answer = urllib.request.urlopen(sys.argv[1])\n"
      "print(answer.headers['Content-Type'])\n"
      "for family in parse(answer.read().decode('utf-8')):\n"
      "    for s in family.samples:\n"
      "        labels = ','.join(k + '=' + v for k, v in sorted(s.labels.items()))\n"
      "        print(family.type, s.name, '{' + labels + '}', s.value)\n");
  Child python(
      {"/usr/bin/python3", script, "http://127.0.0.1:" + std::to_string(port) + "/metrics"},
      folder / "parse.log");
  const int status = python.wait(seconds(30));
  INFO(python.messages());
  REQUIRE(status == 0);
  std::ifstream out((folder / "parse.log.out").string());
  return {std::istreambuf_iterator<char>(out), {}};
}

}  // namespace

TEST_CASE("values arrive, are kept for who comes later, and die with the program") {
  Bench bench;
  Broker broker(bench.folder.path());
  Subscriber subscriber(broker);
  bench.record();
  bench.run({"--mqtt", broker.address()});
  REQUIRE(goes_on(bench, subscriber));
  for (const Message& message : subscriber.all()) {  // unless asked
    CHECK(message.topic.find("homeassistant") == std::string::npos);
  }

  CHECK(last_json(subscriber, "foundling/status") == nlohmann::json{{"state", "online"}});
  // A signal is said to be without a value until its own message comes.
  CHECK(within(seconds(10), [&] {
    return last_json(subscriber, "foundling/signal/relay_001")["value"] == "closed";
  }));
  REQUIRE(within(seconds(10), [&] {
    return last_json(subscriber, "foundling/signal/temp_000")["state"] == "reserved";
  }));
  const auto temp = last_json(subscriber, "foundling/signal/temp_000");
  CHECK(temp["value"].is_null());
  CHECK(temp["state"] == "reserved");
  CHECK(temp["reserved"] == "not-available");
  CHECK(temp["unit"] == "°C");
  CHECK(temp["time"].get<std::string>().size() == std::string("2026-03-01T12:00:00.250Z").size());

  Subscriber later(broker);
  REQUIRE(within(seconds(5), [&] { return later.last("foundling/status").has_value(); }));
  CHECK(later.last("foundling/status")->retained);
  REQUIRE(within(seconds(5), [&] { return !later.of(number).empty(); }));
  CHECK(later.of(number).front().retained);

  bench.live->end(SIGKILL);  // its will is carried out
  CHECK(within(seconds(10), [&] {
    return last_json(subscriber, "foundling/status").value("state", "") == "offline";
  }));
}

TEST_CASE("told to stop, the program says offline and leaves no value behind as good") {
  Bench bench;
  Broker broker(bench.folder.path());
  Subscriber subscriber(broker);
  bench.record();
  bench.run({"--mqtt", broker.address(), "--mqtt-version", "5", "--mqtt-introduce", "shed"});
  REQUIRE(goes_on(bench, subscriber));
  CHECK(last_json(subscriber, "homeassistant/device/shed/config")["components"].size() ==
        3 * messages);
  CHECK(subscriber.last(number)->content_type == "application/json");
  CHECK(subscriber.last(number)->expiry_s >= 1);
  CHECK(bench.live->end(SIGTERM) == 0);
  REQUIRE(within(seconds(5), [&] {
    return last_json(subscriber, "foundling/status").value("state", "") == "offline";
  }));
  Subscriber later(broker);
  REQUIRE(within(seconds(5), [&] { return later.last(number).has_value(); }));
  CHECK(last_json(later, number)["state"] == "stale");
  CHECK(last_json(later, number)["value"].is_null());
}

TEST_CASE("a value older than its time-out is told as stale once, and never as good again") {
  Bench bench;
  Broker broker(bench.folder.path());
  Subscriber subscriber(broker);
  bench.record();
  bench.run({"--mqtt", broker.address()});
  REQUIRE(goes_on(bench, subscriber));
  bench.feeder->stop();
  const auto stopped = Feeder::Clock::now();
  REQUIRE(within(seconds(10), [&] { return last_json(subscriber, number)["state"] == "stale"; }));
  // Every 20 ms by the map: its values count for a second.
  CHECK(Feeder::Clock::now() - stopped < milliseconds(1700));
  CHECK(last_json(subscriber, number)["value"].is_null());
  subscriber.forget();
  broker.stop();  // a new connection sends all anew: still stale
  broker.start();
  REQUIRE(within(seconds(20), [&] { return subscriber.last(number).has_value(); }));
  sleep_for(milliseconds(500));
  for (const Message& message : subscriber.of(number)) {
    CHECK(nlohmann::json::parse(message.payload)["state"] == "stale");
  }
}

TEST_CASE("broker restarted, capture rolled, recorder restarted: values go on by themselves") {
  Bench bench;
  Broker broker(bench.folder.path());
  Subscriber subscriber(broker);
  FilePolicy rolling;
  rolling.roll_after_ns = 1'000'000'000;
  bench.record(rolling);
  bench.run({"--mqtt", broker.address()});
  REQUIRE(goes_on(bench, subscriber));

  broker.stop();
  sleep_for(milliseconds(700));
  broker.start();
  subscriber.forget();
  CHECK(goes_on(bench, subscriber));

  sleep_for(milliseconds(1500));  // rolled at least once
  CHECK(goes_on(bench, subscriber));
  CHECK(bench.live->messages().find("goes on in") != std::string::npos);

  const std::uint32_t next = bench.feeder->next_number();
  bench.feeder->stop();
  sleep_for(milliseconds(500));
  bench.record(rolling, next);
  CHECK(goes_on(bench, subscriber));
  CHECK(bench.live->messages().find("session 2") != std::string::npos);
  CHECK(bench.live->end(SIGINT) == 0);
}

TEST_CASE("a broker that is not there yet is waited for") {
  Bench bench;
  Broker broker(bench.folder.path());
  broker.stop();
  bench.record();
  bench.run({"--mqtt", broker.address()});
  REQUIRE(within(seconds(10), [&] {
    return bench.live->messages().find("cannot be reached") != std::string::npos;
  }));
  broker.start();
  Subscriber subscriber(broker);
  CHECK(goes_on(bench, subscriber));
}

TEST_CASE("a password is taken from a file or the environment; a wrong one ends the program") {
  Bench bench;
  const std::string users = (bench.folder / "users").string();
  Child hashing({"mosquitto_passwd", "-c", "-b", users, "store", "right"},
                bench.folder / "passwd.log");
  REQUIRE(hashing.wait() == 0);
  Broker broker(bench.folder.path(), "allow_anonymous false\npassword_file " + users + "\n");
  Subscriber subscriber(broker, {"store", "right", ""});
  bench.record();
  const std::string right = written(bench.folder, "right", "right\nnot this line\n");
  const std::string wrong = written(bench.folder, "wrong", "wrong\n");
  bench.run({"--mqtt", broker.address(), "--mqtt-user", "store", "--mqtt-password-file", right});
  CHECK(goes_on(bench, subscriber));
  CHECK(bench.live->end(SIGTERM) == 0);

  setenv("FOUNDLING_MQTT_PASSWORD", "right", 1);
  bench.run({"--mqtt", broker.address(), "--mqtt-user", "store"});
  CHECK(goes_on(bench, subscriber));
  bench.live->end(SIGTERM);
  unsetenv("FOUNDLING_MQTT_PASSWORD");

  for (const std::string version : {"3.1.1", "5"}) {
    CAPTURE(version);
    bench.run({"--mqtt", broker.address(), "--mqtt-version", version, "--mqtt-user", "store",
               "--mqtt-password-file", wrong});
    CHECK(bench.live->wait() == 2);
    CHECK(bench.live->messages().find("refuses the connection") != std::string::npos);
  }
}

TEST_CASE("TLS: a broker that our authority vouches for is trusted, another is not") {
  Bench bench;
  // A throw-away authority, a broker's certificate from it, and an authority that knows nobody.
  written(
      bench.folder, "make.sh",
      "set -e\n"
      "req() { openssl req -x509 -newkey rsa:2048 -nodes -days 2 -keyout $1.key -out $1.crt "
      "-subj /CN=$1; }\n"
      "req authority; req stranger\n"
      "openssl req -newkey rsa:2048 -nodes -keyout broker.key -out broker.csr -subj /CN=broker\n"
      "printf 'subjectAltName=IP:127.0.0.1,DNS:localhost' > names\n"
      "openssl x509 -req -in broker.csr -CA authority.crt -CAkey authority.key -days 2 "
      "-set_serial 7 -extfile names -out broker.crt\n");
  const std::string at = bench.folder.path().string() + '/';
  Child making({"sh", "-c", "cd " + at + " && sh ./make.sh"}, bench.folder / "openssl.log");
  REQUIRE(making.wait(seconds(60)) == 0);
  Broker broker(bench.folder.path(), "allow_anonymous true\ncafile " + at +
                                         "authority.crt\ncertfile " + at + "broker.crt\nkeyfile " +
                                         at + "broker.key\n");
  Subscriber subscriber(broker, {"", "", at + "authority.crt"});
  bench.record();
  bench.run({"--mqtt", broker.address(), "--mqtt-ca", at + "authority.crt"});
  CHECK(goes_on(bench, subscriber));
  bench.live->end(SIGTERM);
  subscriber.forget();
  bench.run({"--mqtt", broker.address(), "--mqtt-ca", at + "stranger.crt"});
  CHECK(within(seconds(10), [&] {
    return bench.live->messages().find("cannot be reached") != std::string::npos;
  }));
  CHECK(subscriber.all().empty());
  bench.live->end(SIGTERM);
  bench.run({"--mqtt", broker.address(), "--mqtt-ca", at + "names"});
  CHECK(bench.live->wait() == 2);
  CHECK(bench.live->messages().find("names: expected certificates") != std::string::npos);
}

TEST_CASE("the metrics are OpenMetrics to an independent parser, and a stale value has no sample") {
  Bench bench;
  bench.record();
  bench.run({"--metrics", "0"});
  int port = 0;
  REQUIRE(within(seconds(10), [&] {
    const std::string said = bench.live->messages();
    const std::size_t at = said.find("http://127.0.0.1:");
    if (at == std::string::npos || said.find("/metrics", at) == std::string::npos) return false;
    port = std::stoi(said.substr(at + 17));
    return true;
  }));
  const auto has = [](const std::string& text, const std::string& part) {
    return text.find(part) != std::string::npos;
  };
  std::string page;
  REQUIRE(within(seconds(10), [&] {
    page = parsed_by_prometheus(bench.folder, port);
    return has(page, "gauge foundling_signal {signal=number_003");
  }));
  CAPTURE(page);
  CHECK(page.rfind("application/openmetrics-text; version=1.0.0; charset=utf-8", 0) == 0);
  CHECK(has(page,
            "stateset foundling_signal_state {foundling_signal_state=closed,signal=relay_000} 1"));
  CHECK(has(page,
            "stateset foundling_signal_state {foundling_signal_state=open,signal=relay_000} 0"));
  CHECK(has(page, "foundling_signal_stale {signal=number_000} 0"));
  CHECK(has(page, "foundling_signal_reserved {signal=temp_000} 1"));
  CHECK_FALSE(has(page, "foundling_signal {signal=temp_000"));
  CHECK(has(page, "counter foundling_frames_total {} "));

  bench.feeder->stop();
  sleep_for(milliseconds(1800));
  page = parsed_by_prometheus(bench.folder, port);
  CHECK_FALSE(has(page, "gauge foundling_signal {"));
  CHECK_FALSE(has(page, "foundling_signal_state {"));
  CHECK(has(page, "foundling_signal_stale {signal=number_000} 1"));
  CHECK(bench.live->end(SIGTERM) == 0);
}

TEST_CASE("decode --follow writes what is being recorded, and ends in good order") {
  Bench bench;
  bench.record();
  bench.live = std::make_unique<Child>(
      std::vector<std::string>{FOUNDLING_PROGRAM, "decode", bench.capture, bench.map, "--follow",
                               "--from", "0", "--signal", "number_*"},
      bench.folder / "live.log");
  const auto rows = [&] {
    std::ifstream out((bench.folder / "live.log.out").string());
    return house::lines({std::istreambuf_iterator<char>(out), {}});
  };
  REQUIRE(within(seconds(10), [&] { return rows().size() > 200; }));
  bench.feeder->stop();
  const std::size_t all = bench.feeder->next_number();
  CHECK(within(seconds(5), [&] { return rows().size() == all + 1; }));
  CHECK(bench.live->end(SIGTERM) == 0);
  const auto lines = rows();
  REQUIRE(lines.size() == all + 1);
  CHECK(lines[0] == "time_s,signal,value,unit");
  for (std::size_t i = 0; i < all; ++i) {
    REQUIRE(lines[i + 1].find(",number_00" + std::to_string(i % messages) + ',' +
                              std::to_string(i) + ',') != std::string::npos);
  }
  CHECK(bench.live->messages().find("not a protection function") != std::string::npos);
}

TEST_CASE("decode --follow --utc writes the wall clock's time") {
  Bench bench;
  bench.record();
  bench.live = std::make_unique<Child>(
      std::vector<std::string>{FOUNDLING_PROGRAM, "decode", bench.capture, bench.map, "--follow",
                               "--utc", "--format", "jsonl"},
      bench.folder / "live.log");
  std::string first;
  REQUIRE(within(seconds(10), [&] {
    std::ifstream out((bench.folder / "live.log.out").string());
    return static_cast<bool>(std::getline(out, first));
  }));
  const auto value = nlohmann::json::parse(first);
  CHECK(value["status"] == "proposed");
  std::tm parts{};
  REQUIRE(strptime(value["time_utc"].get<std::string>().c_str(), "%Y-%m-%dT%H:%M:%S", &parts));
  CHECK(std::abs(std::difftime(timegm(&parts), std::time(nullptr))) < 60);
  CHECK(bench.live->end(SIGTERM) == 0);
}

TEST_CASE("wrong words are answered with what is wrong with them, and exit status 2") {
  Bench bench;
  bench.record();
  const auto refused = [&](const std::string& options, const std::string& message) {
    const auto ran =
        house::run_foundling("live " + bench.capture + ' ' + bench.map + ' ' + options);
    CAPTURE(options);
    CAPTURE(ran.err);
    CHECK(ran.status == 2);
    CHECK(ran.err.find(message) != std::string::npos);
  };
  refused("", "--mqtt or --metrics");
  refused("--mqtt :1883", "expected HOST, HOST:PORT or [ADDRESS]:PORT, found ':1883'");
  refused("--mqtt host:99999", "expected a port from 1 to 65535, found 'host:99999'");
  refused("--metrics nine", "expected PORT or ADDRESS:PORT, found 'nine'");
  refused("--metrics example.invalid:9188", "no numeric address");
  refused("--metrics 192.0.2.1:9188", "cannot listen on 192.0.2.1");
  refused("--metrics 0 --signal no_such", "no signal 'no_such'");
  refused("--mqtt h --mqtt-user u --mqtt-password-file " + (bench.folder / "none").string(),
          "none");
  refused("--mqtt h --mqtt-topic 'a/#'", "cannot begin a topic");
  refused("--mqtt-user u --metrics 0", "--mqtt");
  refused("--metrics 0 --confirmed-only", "--confirmed-only leaves nothing");
  refused("--mqtt h --mqtt-introduce 'my shed'",
          "--mqtt-introduce: expected up to 64 letters, digits, _ or -, found 'my shed'");
  std::ofstream(bench.folder / "password") << "secret\n";
  refused("--mqtt broker.invalid --mqtt-user u --mqtt-password-file " +
              (bench.folder / "password").string(),
          "readable by everybody on the way");
}

}  // namespace foundling
