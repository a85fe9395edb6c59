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
    recorder.new_source();
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
      if (down) lose_link(now_ns, "the interface is down");
      return true;
    }
    if (down) lose_link(time.look(), "the interface is down");
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
                 source ? " (to bring it up: " + bus.bring_up + ")" : "");
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
    if (source && state.is_up) {
      const std::int64_t now_ns = time.look();
      recorder.link_back(now_ns);
      spdlog::info("{}: up again, recording goes on after {:.1f} s", bus.interface,
                   static_cast<double>(now_ns - lost_at_ns) * 1e-9);
      return;
    }
    check_later();
  }

  void tick() {
    if (source && read(batches_a_turn)) look_at_drops();
    if (source && !recorder.link_is_lost()) {
      const InterfaceState state = bus.probe();
      if (state.index != source->interface_index()) {
        lose_source({0, SourceState::gone, ""});
      } else if (!state.is_up) {
        lose_link(time.look(), "the interface is down");
      }
    }
    report();
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
