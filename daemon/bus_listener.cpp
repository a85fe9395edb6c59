#include "daemon/bus_listener.h"

#include <spdlog/spdlog.h>

#include <array>
#include <utility>

#include "daemon/asio.h"
#include "daemon/bus_recorder.h"
#include "daemon/commit_policy.h"

namespace foundling {

using std::chrono::milliseconds;

namespace {

constexpr const char* down_words = "the interface is down";
constexpr int batches_a_turn = 16;  // then other work of the loop gets its turn

}  // namespace

struct BusListener::State {
  Bus bus;
  std::unique_ptr<FrameSource> source;  // none while the interface is away
  SessionTime& time;
  BusRecorder recorder;
  asio::posix::stream_descriptor descriptor;
  asio::steady_timer retry;
  Backoff backoff{milliseconds(20), milliseconds(500)};
  std::array<Arrival, 128> arrivals;
  std::int64_t lost_at_ns = 0;
  std::int64_t restart_at_ns = 0;  // of a controller that is off the bus
  bool restart_failed = false;     // said once
  bool hardware_time_said = false;
  int quiet_ticks = 0;  // seconds in which repeated messages are held back

  State(asio::io_context& loop, Bus a_bus, std::unique_ptr<FrameSource> a_source,
        SessionTime& session_time, RecordQueue& queue)
      : bus(std::move(a_bus)),
        source(std::move(a_source)),
        time(session_time),
        recorder(bus.number, time.line(), queue),
        descriptor(loop),
        retry(loop) {}

  ~State() { forget_source(); }

  void forget_source() {
    if (descriptor.is_open()) descriptor.release();  // the source closes it
    source.reset();
  }

  void use_source() {
    recorder.new_source(bus.probe().dropped);
    descriptor.assign(source->descriptor());
    wait();
  }

  void wait() {
    descriptor.async_wait(asio::posix::stream_descriptor::wait_read,
                          [this](const boost::system::error_code& failure) {
                            if (failure || !source) return;
                            read(batches_a_turn);
                            if (source) wait();
                          });
  }

  // Whether everything that waited was read.
  bool read(int batches) {
    bool down = false;
    std::string why;
    for (int i = 0; i < batches; ++i) {
      const ReadOutcome outcome = source->read(arrivals);
      const std::int64_t now_ns = time.look();
      if (outcome.count > 0) {
        recorder.arrived(std::span(arrivals).first(outcome.count));
        continue;
      }
      if (outcome.state == SourceState::down) {  // queued frames stay readable behind the error
        down = true;
        why = outcome.why;
        continue;
      }
      if (outcome.state != SourceState::ready) {
        lose_source(outcome);
        return true;
      }
      if (down) lose_link(now_ns, down_words);
      return true;
    }
    if (down) lose_link(time.look(), down_words);
    return false;
  }

  void lose_source(const ReadOutcome& outcome) {
    forget_source();
    const bool gone = outcome.state == SourceState::gone;
    const std::string why = gone ? "the interface is gone" : "cannot read: " + outcome.why;
    if (recorder.link_is_lost()) {
      lost_because(why);
    } else {
      lose_link(time.look(), why);
    }
  }

  // An interface goes down before it goes away, and a slow machine reads in between.
  void lost_because(const std::string& why) {
    recorder.link_lost_because(why);
    spdlog::warn("{}: {}", bus.interface, why);
  }

  void lose_link(std::int64_t now_ns, const std::string& why) {
    if (recorder.link_is_lost()) return;
    recorder.link_lost(now_ns, why);
    lost_at_ns = now_ns;
    spdlog::warn("{}: {}; recording goes on by itself when it is back{}", bus.interface, why,
                 source && why == down_words ? " (to bring it up: " + bus.bring_up + ")" : "");
    backoff.reset();
    check_later();
  }

  void check_later() {
    retry.expires_after(backoff.next());
    retry.async_wait([this](const boost::system::error_code& failure) {
      if (!failure) check();
    });
  }

  // Is the interface back?
  void check() {
    const InterfaceState state = bus.probe();
    if (source && state.index != source->interface_index()) {
      forget_source();
      lost_because("the interface is gone");
    }
    if (!source && state.exists()) {
      if (auto opened = bus.open()) {
        source = std::move(opened).value();
        use_source();
      }
    }
    if (source && state.is_up && state.off_bus) restart_controller();
    if (source && state.is_up && !state.off_bus) {
      const std::int64_t now_ns = time.look();
      recorder.link_back(now_ns);
      spdlog::info("{}: up again, recording goes on after {:.1f} s", bus.interface,
                   static_cast<double>(now_ns - lost_at_ns) * 1e-9);
      return;
    }
    check_later();
  }

  void restart_controller() {
    const std::int64_t now_ns = time.look();
    if (!bus.restart || now_ns < restart_at_ns) return;
    restart_at_ns = now_ns + wait_for_restart_ns();
    const auto restarted = bus.restart();
    if (restarted) {
      recorder.controller_restarted(now_ns);
      spdlog::info("{}: the controller was restarted", bus.interface);
    } else if (!std::exchange(restart_failed, true)) {
      spdlog::error("{}", restarted.error().message);
    }
  }

  [[nodiscard]] std::int64_t wait_for_restart_ns() const {
    return std::chrono::nanoseconds(bus.restart_after).count();
  }

  void tick() {
    if (source && read(batches_a_turn)) look_at_drops();
    if (source && !recorder.link_is_lost()) {
      const std::int64_t asked_ns = time.look();
      const InterfaceState state = bus.probe();
      if (state.index == source->interface_index()) look_at_controller(state, asked_ns);
      if (state.index != source->interface_index()) {
        lose_source({0, SourceState::gone, ""});
      } else if (!state.is_up) {
        lose_link(time.look(), down_words);
      } else if (state.off_bus) {
        restart_at_ns = time.look() + wait_for_restart_ns();
        restart_failed = false;
        lose_link(time.look(), "the controller is off the bus");
      }
    }
    report();
  }

  void look_at_controller(const InterfaceState& state, std::int64_t asked_ns) {
    const std::int64_t now_ns = time.look();
    recorder.interface_drops_so_far(state.dropped, asked_ns, now_ns);
    recorder.controller_is(state.controller, now_ns);
  }

  void look_at_drops() {
    if (!source) return;
    if (const auto drops = source->drop_counter()) recorder.drops_so_far(*drops, time.look());
  }

  // A flood of errors must not become a flood of messages.
  void report() {
    constexpr int quiet_time = 10;
    if (quiet_ticks > 0 && --quiet_ticks > 0) return;
    const BusRecorder::Tally tally = recorder.take_tally();
    if (tally.hardware_time && !std::exchange(hardware_time_said, true)) {
      spdlog::info("{}: times are those of the adapter's own clock", bus.interface);
    }
    if (tally.dropped > 0) {
      spdlog::error("{}: {} frames lost, the system could not hand them over in time; counted",
                    bus.interface, tally.dropped);
    }
    if (tally.errors > 0) {
      spdlog::warn("{}: {} error frames, the last one: {}", bus.interface, tally.errors,
                   tally.last_error);
    }
    if (tally.dropped > 0 || tally.errors > 0) quiet_ticks = quiet_time;
  }

  void stop() {
    retry.cancel();
    constexpr int last_batches = 512;  // a busy bus does not fall silent for us
    if (source) read(last_batches);
    retry.cancel();
    look_at_drops();
    const std::int64_t asked_ns = time.look();
    if (const InterfaceState state = bus.probe(); source && state.exists()) {
      look_at_controller(state, asked_ns);
    }
    recorder.stopped(time.look());
    quiet_ticks = 0;
    report();
  }
};

BusListener::BusListener(boost::asio::io_context& loop, Bus bus,
                         std::unique_ptr<FrameSource> source, SessionTime& time, RecordQueue& queue)
    : state_(std::make_unique<State>(loop, std::move(bus), std::move(source), time, queue)) {}

BusListener::~BusListener() = default;

void BusListener::start() { state_->use_source(); }
void BusListener::tick() { state_->tick(); }
void BusListener::stop() { state_->stop(); }

}  // namespace foundling
