#include "tools/live/mqtt_publisher.h"

#include "tools/live/live_messages.h"

namespace foundling {
namespace {

constexpr std::int64_t second = 1'000'000'000;
constexpr std::int64_t sanity_every_ns = 2 * second;
constexpr std::int64_t introduction_every_ns = 2 * second;  // where something is new in it

std::int64_t utc_of(std::int64_t t_ns, std::int64_t offset_ns) {
  return offset_ns == 0 ? 0 : t_ns + offset_ns;
}

}  // namespace

MqttPublisher::MqttPublisher(MqttClient& client, const LiveValues& values,
                             const std::vector<bool>& chosen, const std::string& prefix,
                             std::int64_t every_ns)
    : client_(client), values_(values), every_ns_(every_ns), sanity_topic_(prefix + "/sanity") {
  for (std::size_t i = 0; i < values.size(); ++i) {
    if (!chosen[i]) continue;
    Signal signal;
    signal.index = i;
    signal.topic = signal_topic(prefix, values.field(i).name);
    signals_.push_back(std::move(signal));
  }
}

void MqttPublisher::send(std::int64_t now_ns, std::int64_t utc_offset_ns, std::int64_t steady_ns) {
  if (const std::uint64_t connections = client_.connections(); connections != connections_) {
    connections_ = connections;
    for (Signal& signal : signals_) signal.known = false;
    sanity_sent_.clear();
    if (introduction_) introduction_->forget();
    introduction_next_ns_ = steady_ns;
  }
  if (!send_introduction(steady_ns)) return;
  for (Signal& signal : signals_) {
    if (signal.refused) continue;
    const std::size_t i = signal.index;
    const Standing standing = values_.standing(i, now_ns);
    const bool news = standing == Standing::good || standing == Standing::reserved
                          ? values_.count(i) != signal.sent_count && steady_ns >= signal.next_ns
                          : false;
    if (signal.known && standing == signal.sent && !news) continue;
    const std::int64_t utc_ns =
        standing == Standing::never ? 0 : utc_of(values_.newest(i).t_ns, utc_offset_ns);
    // With MQTT 5 the broker lets a value go when it is stale, should we be gone by then.
    const std::int64_t left_ns = values_.newest(i).t_ns + values_.time_out_ns(i) - now_ns;
    const auto expiry_s = standing == Standing::good
                              ? static_cast<std::uint32_t>(left_ns / second + 1)
                              : std::uint32_t{0};
    const auto sent =
        client_.publish(signal.topic, signal_json(values_, i, standing, utc_ns), expiry_s);
    if (sent == MqttClient::Sent::not_now) return;
    if (sent == MqttClient::Sent::never) {  // the others go on
      signal.refused = true;
      news_.push_back("signal " + values_.field(i).name.substr(0, 100) +
                      " cannot be sent over MQTT and is left out");
      continue;
    }
    signal.known = true;
    signal.sent = standing;
    signal.sent_count = values_.count(i);
    signal.next_ns = steady_ns + every_ns_;
  }
  send_sanity(now_ns, utc_offset_ns, steady_ns);
}

// False: the broker cannot take anything now.
bool MqttPublisher::send_introduction(std::int64_t steady_ns) {
  if (!introduction_ || connections_ == 0 || steady_ns < introduction_next_ns_) return true;
  introduction_next_ns_ = steady_ns + introduction_every_ns;
  const auto text = introduction_->due();
  if (!text) return true;
  switch (client_.publish(introduction_->topic(), *text)) {
    case MqttClient::Sent::yes:
      return true;
    case MqttClient::Sent::not_now:
      introduction_->forget();
      introduction_next_ns_ = steady_ns;
      return false;
    case MqttClient::Sent::never:
      news_.emplace_back("the device cannot be introduced over MQTT; its values go on");
      introduction_.reset();
      break;
  }
  return true;
}

// Where something changed for a person: not for every frame that was looked at.
void MqttPublisher::send_sanity(std::int64_t now_ns, std::int64_t utc_offset_ns,
                                std::int64_t steady_ns) {
  if (steady_ns < sanity_next_ns_) return;
  sanity_next_ns_ = steady_ns + sanity_every_ns;
  const auto checks = values_.sanity();
  std::string gist = "-";
  for (const SanityCheck& check : checks) {
    gist += check.subject + ' ' + std::to_string(check.failed) + (check.failing_now ? "!" : ".");
  }
  if (gist == sanity_sent_) return;
  if (client_.publish(sanity_topic_, sanity_json(checks, utc_of(now_ns, utc_offset_ns))) !=
      MqttClient::Sent::not_now) {
    sanity_sent_ = gist;
  }
}

void MqttPublisher::send_all_stale(std::int64_t utc_offset_ns) {
  for (const Signal& signal : signals_) {
    if (!signal.known || signal.sent == Standing::stale || signal.sent == Standing::never) continue;
    client_.publish(signal.topic,
                    signal_json(values_, signal.index, Standing::stale,
                                utc_of(values_.newest(signal.index).t_ns, utc_offset_ns)));
  }
}

}  // namespace foundling
