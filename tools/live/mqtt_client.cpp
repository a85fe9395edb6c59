#include "tools/live/mqtt_client.h"

#include <mosquitto.h>
#include <mqtt_protocol.h>
#include <sys/socket.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cstring>
#include <mutex>
#include <random>
#include <thread>
#include <utility>

#include "tools/live/broker_limits.h"

namespace foundling {
namespace {

using std::chrono::milliseconds;
using std::chrono::steady_clock;

// The least that libmosquitto takes: a silent broker is pinged after 5 s and lost after 10 s.
constexpr int keep_alive_s = 5;
constexpr milliseconds first_wait(250);
constexpr milliseconds longest_wait(10'000);
constexpr milliseconds has_held(30'000);  // a connection this old was none that a broker cuts off
constexpr std::int64_t most_under_way = 5000;  // messages handed over and not sent yet

struct Free {
  void operator()(mosquitto* client) const { mosquitto_destroy(client); }
};

std::string words_of(int code) {
  return code == MOSQ_ERR_ERRNO ? std::strerror(errno) : mosquitto_strerror(code);
}

}  // namespace

struct MqttClient::State {
  MqttSettings settings;
  std::string status_topic;
  std::unique_ptr<mosquitto, Free> client;
  std::thread thread;
  std::atomic<bool> stopping{false};
  std::atomic<bool> connected{false};
  std::atomic<std::uint64_t> connections{0};
  std::atomic<std::int64_t> under_way{0};
  // Of the connection that is up or tried, in the client's thread only.
  bool answered = false;
  bool misbehaves = false;
  steady_clock::time_point begun;
  mutable std::mutex guard;  // of what follows
  std::vector<std::string> news;
  MessageBudget budget;
  std::string last_trouble;
  std::optional<std::string> refused;

  [[nodiscard]] std::string broker() const {
    return "the broker " + settings.host + ':' + std::to_string(settings.port);
  }
  // Under the guard. A broker that lets in and drops, again and again, must not fill a log.
  void say(const std::string& text) {
    const std::optional<std::uint64_t> kept_back = budget.spend(steady_clock::now());
    if (!kept_back) return;
    if (*kept_back > 0) {
      news.push_back(std::to_string(*kept_back) + " more messages about " + broker());
    }
    news.push_back(text);
  }
  // Once, not at every attempt.
  void tell_trouble(const std::string& text) {
    const std::lock_guard lock(guard);
    if (text == last_trouble) return;
    last_trouble = text;
    say(text + "; trying again");
  }

  void on_connect(int code) {
    // A broker answers a connection once.
    if (std::exchange(answered, true)) {
      misbehaves = true;
      return;
    }
    if (code == 0) {
      under_way = 0;
      const std::lock_guard lock(guard);
      say("connected to " + broker());
      ++under_way;
      constexpr const char* online = "{\"state\":\"online\"}";
      mosquitto_publish(client.get(), nullptr, status_topic.c_str(),
                        static_cast<int>(std::strlen(online)), online, 1, true);
      ++connections;
      connected = true;
      return;
    }
    const std::string why =
        broker() + " refuses the connection: " +
        (settings.version_5 ? mosquitto_reason_string(code) : mosquitto_connack_string(code));
    if (connections > 0) return tell_trouble(why);
    const std::lock_guard lock(guard);
    refused = why;
  }

  // The settings that libmosquitto checks at once.
  Result<void> configure() {
    mosquitto* c = client.get();
    mosquitto_threaded_set(c, true);
    mosquitto_int_option(c, MOSQ_OPT_PROTOCOL_VERSION,
                         settings.version_5 ? MQTT_PROTOCOL_V5 : MQTT_PROTOCOL_V311);
    mosquitto_int_option(c, MOSQ_OPT_TCP_NODELAY, 1);
    mosquitto_connect_callback_set(
        c, [](mosquitto*, void* state, int code) { static_cast<State*>(state)->on_connect(code); });
    mosquitto_disconnect_callback_set(
        c, [](mosquitto*, void* state, int) { static_cast<State*>(state)->connected = false; });
    mosquitto_publish_callback_set(
        c, [](mosquitto*, void* state, int) { --static_cast<State*>(state)->under_way; });
    constexpr const char* offline = "{\"state\":\"offline\"}";
    int code = mosquitto_will_set(c, status_topic.c_str(), static_cast<int>(std::strlen(offline)),
                                  offline, 1, true);
    if (code != MOSQ_ERR_SUCCESS) {
      return Error{ErrorCode::usage, "'" + settings.prefix + "' cannot begin a topic"};
    }
    if (!settings.user.empty()) {
      code = mosquitto_username_pw_set(c, settings.user.c_str(),
                                       settings.password ? settings.password->c_str() : nullptr);
      if (code != MOSQ_ERR_SUCCESS) return Error{ErrorCode::usage, "the user name is no UTF-8"};
    }
    return settings.tls ? configure_tls() : Result<void>{};
  }

  Result<void> configure_tls() {
    const auto or_none = [](const std::string& text) {
      return text.empty() ? nullptr : text.c_str();
    };
    const char* const system_authorities = settings.ca_file.empty() ? "/etc/ssl/certs" : nullptr;
    const int code =
        mosquitto_tls_set(client.get(), or_none(settings.ca_file), system_authorities,
                          or_none(settings.certificate_file), or_none(settings.key_file), nullptr);
    if (code == MOSQ_ERR_SUCCESS) return {};
    return Error{ErrorCode::usage, "the files for TLS cannot be used: " + words_of(code)};
  }

  // Without a number, so that the next attempt's is the same and is not told again.
  [[nodiscard]] std::string silent() const {
    return broker() + " takes the connection and says nothing";
  }

  // Why this connection is to end; nothing where it may go on.
  [[nodiscard]] std::optional<std::string> grievance() const {
    if (misbehaves || sends_too_much(mosquitto_socket(client.get()))) {
      return broker() + " sends what nobody asked for, and was left";
    }
    if (!answered && steady_clock::now() - begun > settings.longest_silence) {
      return silent();
    }
    return std::nullopt;
  }

  // One connection from its attempt to its end; why it ended.
  std::string connect_and_stay(bool first_attempt) {
    answered = misbehaves = false;
    begun = steady_clock::now();
    const std::uint64_t before = connections;
    int state = first_attempt ? mosquitto_connect_async(client.get(), settings.host.c_str(),
                                                        settings.port, keep_alive_s)
                              : mosquitto_reconnect_async(client.get());
    if (state == MOSQ_ERR_SUCCESS) take_in_small_pieces(mosquitto_socket(client.get()));
    std::optional<std::string> why;
    while (state == MOSQ_ERR_SUCCESS && !stopping && !why) {
      state = mosquitto_loop(client.get(), 100, 1);
      if (state == MOSQ_ERR_SUCCESS) why = grievance();
    }
    connected = false;
    if (why) {
      // libmosquitto meets the end of its socket and clears up what it had read.
      ::shutdown(mosquitto_socket(client.get()), SHUT_RDWR);
      while (mosquitto_loop(client.get(), 100, 1) == MOSQ_ERR_SUCCESS) {
      }
      return *why;
    }
    if (state == MOSQ_ERR_KEEPALIVE) {
      return answered ? broker() + " is lost: it says nothing any more" : silent();
    }
    // Whoever publishes may have been the first to meet the loss: `connected` does not tell.
    return broker() + (connections > before ? " is lost: " : " cannot be reached: ") +
           words_of(state);
  }

  void rest(milliseconds wait) const {
    for (milliseconds slept(0); slept < wait && !stopping; slept += milliseconds(50)) {
      std::this_thread::sleep_for(milliseconds(50));
    }
  }

  void run() {
    std::minstd_rand dice(std::random_device{}());
    milliseconds wait = first_wait;
    for (bool first = true; !stopping; first = false) {
      const std::string why = connect_and_stay(first);
      if (stopping) return;
      {
        const std::lock_guard lock(guard);
        if (refused) return;
      }
      tell_trouble(why);
      if (answered && steady_clock::now() - begun > has_held) {
        wait = first_wait;
        const std::lock_guard lock(guard);
        last_trouble.clear();
      }
      // Between half and the whole of it, so that many programs do not all come at one moment.
      rest(wait * std::uniform_int_distribution<int>(50, 100)(dice) / 100);
      wait = std::min(2 * wait, longest_wait);
    }
  }
};

MqttClient::MqttClient(std::unique_ptr<State> state) : state_(std::move(state)) {}

MqttClient::~MqttClient() {
  if (!state_) return;
  stop();
}

Result<std::unique_ptr<MqttClient>> MqttClient::start(const MqttSettings& settings) {
  static const int initialised = mosquitto_lib_init();
  if (initialised != MOSQ_ERR_SUCCESS) {
    return Error{ErrorCode::io, "libmosquitto cannot be used: " + words_of(initialised)};
  }
  auto state = std::make_unique<State>();
  state->settings = settings;
  state->status_topic = settings.prefix + "/status";
  const char* id = settings.client_id.empty() ? nullptr : settings.client_id.c_str();
  state->client.reset(mosquitto_new(id, true, state.get()));
  if (!state->client) return Error{ErrorCode::usage, "the MQTT client name cannot be used"};
  if (auto configured = state->configure(); !configured) return configured.error();
  State* inside = state.get();
  state->thread = std::thread([inside] { inside->run(); });
  return std::unique_ptr<MqttClient>(new MqttClient(std::move(state)));
}

MqttClient::Sent MqttClient::publish(const std::string& topic, const std::string& payload,
                                     std::uint32_t expiry_s) {
  State& state = *state_;
  if (!state.connected || state.under_way > most_under_way) return Sent::not_now;
  mosquitto_property* properties = nullptr;
  if (state.settings.version_5) {
    mosquitto_property_add_byte(&properties, MQTT_PROP_PAYLOAD_FORMAT_INDICATOR, 1);
    mosquitto_property_add_string(&properties, MQTT_PROP_CONTENT_TYPE, "application/json");
    if (expiry_s > 0) {
      mosquitto_property_add_int32(&properties, MQTT_PROP_MESSAGE_EXPIRY_INTERVAL, expiry_s);
    }
  }
  ++state.under_way;
  const int code =
      mosquitto_publish_v5(state.client.get(), nullptr, topic.c_str(),
                           static_cast<int>(payload.size()), payload.data(), 0, true, properties);
  mosquitto_property_free_all(&properties);
  if (code == MOSQ_ERR_SUCCESS) return Sent::yes;
  --state.under_way;
  const bool lasting = code == MOSQ_ERR_INVAL || code == MOSQ_ERR_PAYLOAD_SIZE ||
                       code == MOSQ_ERR_MALFORMED_UTF8 || code == MOSQ_ERR_OVERSIZE_PACKET;
  return lasting ? Sent::never : Sent::not_now;
}

std::uint64_t MqttClient::connections() const { return state_->connections; }

std::vector<std::string> MqttClient::news() {
  const std::lock_guard lock(state_->guard);
  return std::exchange(state_->news, {});
}

std::optional<std::string> MqttClient::refused() const {
  const std::lock_guard lock(state_->guard);
  return state_->refused;
}

void MqttClient::stop() {
  State& state = *state_;
  if (!state.thread.joinable()) return;
  if (state.connected && publish(state.status_topic, "{\"state\":\"offline\"}") == Sent::yes) {
    for (int i = 0; i < 200 && state.under_way > 0 && state.connected; ++i) {
      std::this_thread::sleep_for(milliseconds(10));
    }
  }
  state.stopping = true;
  mosquitto_disconnect(state.client.get());
  state.thread.join();
}

}  // namespace foundling
