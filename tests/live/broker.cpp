#include "tests/live/broker.h"

#include <mosquitto.h>
#include <mqtt_protocol.h>
#include <netinet/in.h>
#include <signal.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cstdlib>
#include <fstream>
#include <stdexcept>

namespace foundling {
namespace {

bool answers(int port) {
  const int probe = socket(AF_INET, SOCK_STREAM, 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_port = htons(static_cast<std::uint16_t>(port));
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  const bool there =
      connect(probe, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0;
  close(probe);
  return there;
}

}  // namespace

Broker::Broker(const std::filesystem::path& folder, const std::string& settings)
    : folder_(folder), port_(free_port()) {
  std::ofstream file(folder_ / "broker.conf");
  // It would give up root's rights, and could then not read the test's own folder.
  if (geteuid() == 0) file << "user root\n";
  file << "listener " << port_ << " 127.0.0.1\n"
       << (settings.empty() ? "allow_anonymous true\n" : settings);
  file.close();
  start();
}

void Broker::start() {
  const char* program =
      std::filesystem::exists("/usr/sbin/mosquitto") ? "/usr/sbin/mosquitto" : "mosquitto";
  process_ = std::make_unique<Child>(
      std::vector<std::string>{program, "-c", (folder_ / "broker.conf").string()},
      folder_ / "broker.log");
  if (!within(std::chrono::seconds(10), [this] { return answers(port_); })) {
    throw std::runtime_error("the broker does not start: " + process_->messages());
  }
}

void Broker::stop() {
  process_->end(SIGTERM);
  process_.reset();
}

struct Subscriber::State {
  mutable std::mutex guard;
  std::vector<Message> messages;
  mosquitto* client = nullptr;

  void on_message(const mosquitto_message* got, const mosquitto_property* properties) {
    Message message;
    message.topic = got->topic;
    message.payload.assign(static_cast<const char*>(got->payload),
                           static_cast<std::size_t>(got->payloadlen));
    message.retained = got->retain;
    message.at = std::chrono::steady_clock::now();
    char* type = nullptr;
    if (mosquitto_property_read_string(properties, MQTT_PROP_CONTENT_TYPE, &type, false) !=
        nullptr) {
      message.content_type = type;
      std::free(type);
    }
    mosquitto_property_read_int32(properties, MQTT_PROP_MESSAGE_EXPIRY_INTERVAL, &message.expiry_s,
                                  false);
    const std::lock_guard lock(guard);
    messages.push_back(std::move(message));
  }
};

Subscriber::Subscriber(const Broker& broker, const Access& access)
    : state_(std::make_unique<State>()) {
  mosquitto_lib_init();
  mosquitto* c = state_->client = mosquitto_new(nullptr, true, state_.get());
  mosquitto_int_option(c, MOSQ_OPT_PROTOCOL_VERSION, MQTT_PROTOCOL_V5);
  mosquitto_reconnect_delay_set(c, 1, 1, false);
  if (!access.user.empty()) {
    mosquitto_username_pw_set(c, access.user.c_str(), access.password.c_str());
  }
  if (!access.ca_file.empty()) {
    mosquitto_tls_set(c, access.ca_file.c_str(), nullptr, nullptr, nullptr, nullptr);
  }
  mosquitto_connect_callback_set(c, [](mosquitto* client, void*, int code) {
    if (code != 0) return;
    mosquitto_subscribe(client, nullptr, "foundling/#", 0);
    mosquitto_subscribe(client, nullptr, "homeassistant/#", 0);
  });
  mosquitto_message_v5_callback_set(
      c, [](mosquitto*, void* state, const mosquitto_message* got, const mosquitto_property* with) {
        static_cast<State*>(state)->on_message(got, with);
      });
  if (mosquitto_connect(c, "127.0.0.1", broker.port(), 20) != MOSQ_ERR_SUCCESS ||
      mosquitto_loop_start(c) != MOSQ_ERR_SUCCESS) {
    throw std::runtime_error("the subscriber cannot connect");
  }
}

Subscriber::~Subscriber() {
  mosquitto_disconnect(state_->client);
  mosquitto_loop_stop(state_->client, false);
  mosquitto_destroy(state_->client);
}

std::vector<Message> Subscriber::all() const {
  const std::lock_guard lock(state_->guard);
  return state_->messages;
}

std::vector<Message> Subscriber::of(const std::string& topic) const {
  std::vector<Message> found;
  for (Message& message : all()) {
    if (message.topic == topic) found.push_back(std::move(message));
  }
  return found;
}

std::optional<Message> Subscriber::last(const std::string& topic) const {
  auto found = of(topic);
  if (found.empty()) return {};
  return std::move(found.back());
}

void Subscriber::forget() {
  const std::lock_guard lock(state_->guard);
  state_->messages.clear();
}

}  // namespace foundling
