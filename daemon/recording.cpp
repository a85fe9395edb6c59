#include "daemon/recording.h"

#include <spdlog/spdlog.h>

#include <cmath>
#include <csignal>
#include <filesystem>
#include <memory>
#include <optional>
#include <utility>
#include <vector>

#include "daemon/asio.h"
#include "daemon/batch_writer.h"
#include "daemon/bus_listener.h"
#include "daemon/capture_sink.h"
#include "daemon/clock_watch.h"
#include "daemon/held_signals.h"
#include "daemon/instruments/instruments.h"
#include "daemon/recording_target.h"
#include "daemon/service_manager.h"
#include "daemon/socket_source.h"
#include "schemas/capture/capture_reader.h"
#include "schemas/capture/session_clock.h"

namespace foundling {

namespace {

// 80 bytes each: 21 MB, and half a minute of a saturated 1 Mbit/s bus while the disk is stuck.
constexpr std::size_t queue_capacity = 262'144;
constexpr std::chrono::seconds patience_at_the_end{10};
constexpr std::chrono::seconds longest_turn_of_writer{60};

std::string joined(const std::vector<std::string>& words) {
  std::string text;
  for (const std::string& word : words) text += (text.empty() ? "" : ",") + word;
  return text;
}

SessionInfo session_info(const Options& options) {
  SessionInfo info;
  start_session_clock(info);
  info.pack = options.pack;
  info.board = options.board;
  info.note = options.note;
  info.interface = joined(options.interfaces);
  info.tool_version = FOUNDLING_VERSION;
  info.bit_rate = options.bit_rate;
  info.data_bit_rate = options.data_bit_rate;
  return info;
}

Bus bus_of(const Options& options, std::size_t number) {
  const std::string& name = options.interfaces[number];
  const int buffer_bytes = options.socket_buffer_kib * 1024;
  Bus bus{name,
          static_cast<std::uint8_t>(number),
          [name, buffer_bytes] { return SocketSource::open(name, buffer_bytes); },
          [name] { return probe_interface(name); },
          command_to_bring_up(name, options.bit_rate),
          {}};
  if (options.restart_after_s > 0) {
    bus.restart = [name] { return restart_controller(name); };
    bus.restart_after = std::chrono::milliseconds(std::llround(options.restart_after_s * 1000));
  }
  return bus;
}

using Sources = std::vector<std::unique_ptr<FrameSource>>;

Result<Sources> open_sources(const Options& options) {
  Sources sources;
  for (std::size_t i = 0; i < options.interfaces.size(); ++i) {
    auto source = bus_of(options, i).open();
    if (!source) return source.error();
    sources.push_back(std::move(source).value());
  }
  return sources;
}

// The instruments' channels against those that the capture has, if it is there already.
Result<void> check_channels(const Options& options) {
  std::error_code failure;
  if (options.instruments.empty() || !std::filesystem::exists(options.capture, failure)) return {};
  auto reader = CaptureReader::open(options.capture);
  if (!reader) return reader.error();
  const auto known = reader->channels();
  if (!known) return known.error();
  for (const InstrumentSettings& instrument : options.instruments) {
    for (const InstrumentQuery& query : instrument.queries) {
      for (const Channel& channel : *known) {
        const bool fits = channel.unit == query.channel.unit && channel.kind == ChannelKind::sample;
        if (channel.name != query.channel.name || fits) continue;
        return Error{ErrorCode::usage, options.capture.string() + ": instrument " +
                                           instrument.name + " measures channel " + channel.name +
                                           " as samples in " + query.channel.unit +
                                           ", and the capture has it otherwise"};
      }
    }
  }
  return {};
}

// Everything that runs in the event loop.
class Loop {
 public:
  Loop(const Options& options, Sources sources, std::int64_t origin_boot_ns, RecordQueue& queue,
       BatchWriter& writer)
      : options_(options),
        queue_(queue),
        writer_(writer),
        time_(origin_boot_ns, clock_, queue),
        signals_(loop_, SIGTERM, SIGINT, SIGHUP),
        second_(loop_),
        clock_watch_(loop_, [this] { time_.look(); }) {
    for (std::size_t i = 0; i < sources.size(); ++i) {
      buses_.push_back(std::make_unique<BusListener>(loop_, bus_of(options, i),
                                                     std::move(sources[i]), time_, queue));
    }
  }

  // The session's time when it was told to stop.
  std::int64_t run() {
    signals_.async_wait([this](const boost::system::error_code& failure, int) {
      if (!failure) loop_.stop();
    });
    for (auto& bus : buses_) bus->start();
    wait_a_second();
    manager_.tell("READY=1\nSTATUS=recording");
    loop_.run();
    manager_.tell("STOPPING=1");
    spdlog::info("stopping");
    for (auto& bus : buses_) bus->stop();
    add_health("stopped");
    return time_.look();
  }

 private:
  void wait_a_second() {
    second_.expires_after(std::chrono::seconds(1));
    second_.async_wait([this](const boost::system::error_code& failure) {
      if (failure) return;
      for (auto& bus : buses_) bus->tick();
      add_health("");
      give_sign_of_life();
      wait_a_second();
    });
  }

  // Not while the writing thread hangs: a full disk is no hanging, it tries again and again.
  void give_sign_of_life() {
    if (writer_.since_last_turn() > longest_turn_of_writer) return;
    const RecordQueue::Level level = queue_.level();
    manager_.tell("WATCHDOG=1\nSTATUS=" + std::to_string(writer_.stored()) + " frames stored, " +
                  std::to_string(level.lost) + " lost" +
                  (writer_.failing() ? ", writing fails" : ""));
  }

  void add_health(std::string note) {
    const RecordQueue::Level level = queue_.level();
    Health health;
    health.t_ns = time_.look();
    health.frames = writer_.stored();
    health.lost = level.lost;
    health.queued = level.waiting;
    health.commit_ns = writer_.take_longest_commit().count();
    std::error_code failure;
    const auto space = std::filesystem::space(folder_of(options_.capture), failure);
    if (!failure) health.disk_free_bytes = space.available;
    health.note = std::move(note);
    queue_.add_health(std::move(health));
  }

  const Options& options_;
  RecordQueue& queue_;
  BatchWriter& writer_;
  SystemClock clock_;
  ServiceManager manager_;
  SessionTime time_;
  asio::io_context loop_{1};
  asio::signal_set signals_;
  asio::steady_timer second_;
  ClockWatch clock_watch_;
  std::vector<std::unique_ptr<BusListener>> buses_;
};

Result<void> finish(CaptureSink& capture, std::int64_t ended_ns, BatchWriter& writer,
                    const RecordQueue& queue) {
  const std::uint64_t unsaved = writer.finish(patience_at_the_end);
  const Result<void> finished = capture.finish(ended_ns);
  const std::uint64_t removed = capture.take_removed();
  if (unsaved > 0) {
    return Error{ErrorCode::io, std::to_string(unsaved) +
                                    " frames could not be written; what was stored is whole"};
  }
  if (!finished) return finished;
  spdlog::info("stopped: {} frames stored, {} lost", writer.stored() - removed,
               queue.level().lost + removed);
  return {};
}

}  // namespace

Result<void> record(const Options& options) {
  if (auto checked = check_interfaces(options); !checked) return checked;
  // The time line starts before the sockets, so that no frame is older than the session.
  const SessionInfo info = session_info(options);
  auto sources = open_sources(options);
  if (!sources) return sources.error();
  if (auto fit = check_channels(options); !fit) return fit;
  std::optional<HeldSignals> until_heard(std::in_place);
  auto capture = CaptureSink::open(options.capture, options.file_policy(), info);
  if (!capture) return capture.error();

  RecordQueue queue(queue_capacity);
  // Said before the writing thread has the file to itself.
  spdlog::info("recording {} into {}, session {}", joined(options.interfaces),
               (*capture)->file().string(), (*capture)->session());
  BatchWriter writer(queue, **capture);
  const std::size_t holds = frames_buffered(*sources->front());
  Loop loop(options, std::move(*sources), info.started_boot_ns, queue, writer);
  until_heard.reset();
  spdlog::info("the system can hold about {} frames an interface while we are busy", holds);
  Instruments instruments(options.instruments, info.started_boot_ns, queue);
  const std::int64_t ended_ns = loop.run();
  instruments.stop();
  return finish(**capture, ended_ns, writer, queue);
}

}  // namespace foundling
