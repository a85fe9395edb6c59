#include "tools/live.h"

#include <signal.h>

#include <chrono>
#include <cmath>
#include <iostream>
#include <memory>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "schemas/capture/recording_lock.h"
#include "tools/command_line.h"
#include "tools/live/capture_follower.h"
#include "tools/live/http_server.h"
#include "tools/live/live_messages.h"
#include "tools/live/live_values.h"
#include "tools/live/mqtt_publisher.h"
#include "tools/live_options.h"
#include "tools/signal_choice.h"
#include "tools/signal_file.h"
#include "tools/stop_signal.h"

namespace foundling {
namespace {

using std::chrono::milliseconds;
using std::chrono::steady_clock;

constexpr milliseconds between_looks(20);

struct Wanted {
  std::string first;
  std::string second;
  SignalChoice choice;
  double every_s = 0.2;
  std::string metrics;
  std::vector<std::string> metrics_names;
  std::string mqtt;
  std::string mqtt_version = "3.1.1";
  std::string password_file;
  bool plain_password = false;
  std::string device;  // to be introduced as; empty: not
  MqttSettings settings;
};

int fail(const Error& error) {
  std::cerr << "foundling live: error: " << error.message << '\n';
  return exit_trouble;
}

void say(const std::string& text) { std::cerr << "foundling live: " << text << std::endl; }

std::int64_t steady_ns() {
  return std::chrono::nanoseconds(steady_clock::now().time_since_epoch()).count();
}

// The recording's present moment: by its clock where that is this machine's, else by how long ago
// its newest frame came.
class LiveClock {
 public:
  void came(std::int64_t t_ns) {
    newest_ns_ = t_ns;
    came_ns_ = steady_ns();
  }
  [[nodiscard]] std::int64_t now_ns(const CaptureFollower& follower) const {
    return follower.now_ns().value_or(newest_ns_ + (came_ns_ == 0 ? 0 : steady_ns() - came_ns_));
  }

 private:
  std::int64_t newest_ns_ = 0;
  std::int64_t came_ns_ = 0;
};

class Live {
 public:
  Live(const SignalMap& map, const Wanted& wanted, CaptureFollower follower)
      : wanted_(wanted), board_(map.board), follower_(std::move(follower)), values_(map) {
    for (std::size_t i = 0; i < values_.size(); ++i) {
      chosen_.push_back(wanted.choice.takes(values_.field(i).name, values_.entry(i).status));
    }
  }

  Result<void> serve_metrics() {
    const auto place = parse_listen_address(wanted_.metrics, "--metrics");
    if (!place) return place.error();
    auto server = HttpServer::listen(
        place->host, place->port,
        {"/metrics", "application/openmetrics-text; version=1.0.0; charset=utf-8",
         [this] { return metrics_text(values_, chosen_, clock_.now_ns(follower_)); },
         wanted_.metrics_names});
    if (!server) return server.error();
    server_.emplace(std::move(server).value());
    const bool six = place->host.find(':') != std::string::npos;
    say("metrics at http://" + (six ? '[' + place->host + ']' : place->host) + ':' +
        std::to_string(server_->port()) + "/metrics");
    return {};
  }

  Result<void> publish() {
    MqttSettings settings = wanted_.settings;
    settings.tls |= !settings.ca_file.empty() || !settings.certificate_file.empty();
    for (const std::string& file : {settings.ca_file, settings.certificate_file}) {
      if (file.empty()) continue;
      if (auto checked = check_certificates(file); !checked) return checked.error();
    }
    const auto place = parse_host_and_port(wanted_.mqtt, settings.tls ? 8883 : 1883, "--mqtt");
    if (!place) return place.error();
    settings.host = place->host;
    settings.port = place->port;
    settings.version_5 = wanted_.mqtt_version == "5";
    auto password = fetch_password(wanted_.password_file);
    if (!password) return password.error();
    settings.password = std::move(password).value();
    if (settings.password && !settings.tls && !wanted_.plain_password &&
        !is_this_machine(settings.host)) {
      return Error{ErrorCode::usage,
                   "the password would go to " + settings.host +
                       " readable by everybody on the way: --mqtt-tls or --mqtt-ca encrypts; "
                       "--mqtt-plain-password sends it all the same"};
    }
    auto client = MqttClient::start(settings);
    if (!client) return client.error();
    client_ = std::move(client).value();
    const auto every_ns = static_cast<std::int64_t>(std::llround(wanted_.every_s * 1e9));
    publisher_.emplace(*client_, values_, chosen_, settings.prefix, every_ns);
    if (!wanted_.device.empty()) {
      publisher_->introduce(
          {values_,
           chosen_,
           {wanted_.device, board_, FOUNDLING_VERSION, settings.prefix, every_ns}});
    }
    return {};
  }

  int run() {
    while (!stop_asked()) {
      const bool more = take_frames();
      if (client_) {
        publisher_->send(clock_.now_ns(follower_), utc_offset_ns(), steady_ns());
        for (const std::string& news : client_->news()) say(news);
        for (const std::string& news : publisher_->news()) say(news);
        if (const auto refused = client_->refused()) return fail({ErrorCode::io, *refused});
      }
      const milliseconds rest = more ? milliseconds(0) : between_looks;
      if (server_) {
        server_->wait(rest);
      } else {
        std::this_thread::sleep_for(rest);
      }
    }
    if (client_) {
      publisher_->send_all_stale(utc_offset_ns());
      client_->stop();
    }
    return exit_good;
  }

 private:
  [[nodiscard]] std::int64_t utc_offset_ns() const {
    const std::int64_t t_ns = values_.last_frame_ns();
    const std::int64_t utc_ns = follower_.utc_ns(t_ns);
    return utc_ns == 0 ? 0 : utc_ns - t_ns;
  }

  // True: there may be more at once.
  bool take_frames() {
    const auto frames = follower_.next();
    for (const std::string& news : follower_.news()) {
      say(news);
      values_.interrupted();
    }
    if (!frames) {
      if (frames.error().message != trouble_) say(frames.error().message + "; trying again");
      trouble_ = frames.error().message;
      return false;
    }
    trouble_.clear();
    for (const Frame& frame : *frames) values_.take(frame);
    if (!frames->empty()) clock_.came(frames->back().t_ns);
    return frames->size() >= 8192;
  }

  const Wanted& wanted_;
  const std::string board_;
  CaptureFollower follower_;
  LiveValues values_;
  std::vector<bool> chosen_;
  LiveClock clock_;
  std::string trouble_;
  std::optional<HttpServer> server_;
  std::unique_ptr<MqttClient> client_;
  std::optional<MqttPublisher> publisher_;
};

int run(const Wanted& wanted) {
  if (wanted.mqtt.empty() && wanted.metrics.empty()) {
    return fail({ErrorCode::usage, "nothing to do: --mqtt or --metrics says where values go"});
  }
  if (!wanted.device.empty() && !can_be_device(wanted.device)) {
    return fail({ErrorCode::usage,
                 "--mqtt-introduce: expected up to 64 letters, digits, _ or -, "
                 "found '" +
                     wanted.device + '\''});
  }
  const auto files = tell_apart(wanted.first, wanted.second);
  if (!files) return fail(files.error());
  const auto map = load_signal_file(files->map, std::cerr);
  if (!map) return fail(map.error());
  const auto left_out = check_choice(map->read.map, wanted.choice);
  if (!left_out) return fail(left_out.error());
  auto follower = CaptureFollower::open(files->capture, CaptureFollower::Start::with_what_comes);
  if (!follower) return fail(follower.error());
  if (!left_out->empty()) say(*left_out);
  if (!RecordingLock::is_held(follower->file())) {
    say("nobody records into " + files->capture + " now; waiting for a recorder");
  }
  signal(SIGPIPE, SIG_IGN);  // a broker or collector that is gone is no reason to go too
  watch_stop_signals();
  Live live(map->read.map, wanted, std::move(follower).value());
  if (!wanted.metrics.empty()) {
    if (auto served = live.serve_metrics(); !served) return fail(served.error());
  }
  if (!wanted.mqtt.empty()) {
    if (auto published = live.publish(); !published) return fail(published.error());
  }
  return live.run();
}

void declare_metrics(CommandLine app, Wanted& wanted) {
  CommandOption metrics =
      app.add_option(
             "--metrics", wanted.metrics,
             "Serve OpenMetrics over HTTP at /metrics on this PORT, of this machine's own address "
             "127.0.0.1, for it has no password; ADDRESS:PORT for another")
          .type_name("PORT");
  app.add_option("--metrics-name", wanted.metrics_names,
                 "Answer when the metrics are asked for under this name too, beside the machine's "
                 "own, its address and localhost; may be given several times")
      .type_name("NAME")
      .one_value_each()
      .needs(metrics);
}

void declare_mqtt(CommandLine app, Wanted& wanted) {
  auto mqtt =
      app.add_option("--mqtt", wanted.mqtt,
                     "Publish to this broker, HOST or HOST:PORT; port 1883, with TLS 8883, if "
                     "not said")
          .type_name("BROKER");
  MqttSettings& settings = wanted.settings;
  app.add_option("--mqtt-topic", settings.prefix, "What all topics begin with")
      .type_name("PREFIX")
      .capture_default_str()
      .needs(mqtt);
  app.add_option("--mqtt-version", wanted.mqtt_version, "Of the protocol: 3.1.1 or 5")
      .check(one_of({"3.1.1", "5"}))
      .type_name("VERSION")
      .capture_default_str()
      .needs(mqtt);
  app.add_option("--mqtt-user", settings.user, "User name at the broker")
      .type_name("NAME")
      .needs(mqtt);
  app.add_option("--mqtt-password-file", wanted.password_file,
                 "The password is this file's first line; without it, what the environment's "
                 "FOUNDLING_MQTT_PASSWORD says")
      .type_name("FILE")
      .needs(mqtt);
  app.add_flag("--mqtt-plain-password", wanted.plain_password,
               "Send the password without encryption to another machine: everybody on the way can "
               "read it")
      .needs(mqtt);
  app.add_flag("--mqtt-tls", settings.tls,
               "Encrypt, and check the broker's certificate against "
               "the system's authorities")
      .needs(mqtt);
  app.add_option("--mqtt-ca", settings.ca_file,
                 "Encrypt, and check the broker's certificate against the authorities in this file")
      .type_name("FILE")
      .needs(mqtt);
  auto certificate = app.add_option("--mqtt-certificate", settings.certificate_file,
                                    "Our own certificate, where the broker asks for one")
                         .type_name("FILE")
                         .needs(mqtt);
  app.add_option("--mqtt-key", settings.key_file, "The key of our own certificate")
      .type_name("FILE")
      .needs(certificate);
  app.add_option("--mqtt-introduce", wanted.device,
                 "Introduce the signals to home-automation servers, as the sensors of a device of "
                 "this ID; the message is kept at the broker")
      .type_name("ID")
      .needs(mqtt);
  app.add_option("--mqtt-client", settings.client_id,
                 "Our name at the broker; the broker chooses if not said")
      .type_name("NAME")
      .needs(mqtt);
}

std::function<int()> declare(CommandLine app) {
  auto wanted = std::make_shared<Wanted>();
  app.add_option("CAPTURE", wanted->first, "The capture that is being recorded").required();
  app.add_option("MAP", wanted->second, "A signal map; the two in either order").required();
  declare_signal_choice(app, wanted->choice);
  app.add_option("--every", wanted->every_s, "A signal is published at most once in so long")
      .type_name("SECONDS")
      .check(number_between(0, 86400))
      .capture_default_str();
  declare_metrics(app, *wanted);
  declare_mqtt(app, *wanted);
  app.footer(
      "Goes on over rolled files and restarts of recorder and broker until it is interrupted. A\n"
      "value older than its time-out is sent as stale, without a number. Topics, JSON and metrics\n"
      "are described in tools/live/README.md, of the package /usr/share/doc/foundling/live.md.\n"
      "Values are unverified until checked, and neither they nor the sanity watch protect\n"
      "anything.\n"
      "\n"
      "Example: for a home store's controller and a metrics collector on this machine\n"
      "  foundling live pack.capture tractor.signals --mqtt localhost --metrics 9188");
  return [wanted] { return run(*wanted); };
}

}  // namespace

Command live_command() {
  return {"live", "Send the running recording's values to an MQTT broker or a metrics collector",
          declare};
}

}  // namespace foundling
