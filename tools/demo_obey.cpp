#include "tools/demo_obey.h"

#include <unistd.h>

#include <ctime>
#include <iostream>
#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "decoder/report/paragraph.h"
#include "schemas/capture/capture_reader.h"
#include "schemas/capture/capture_writer.h"
#include "schemas/capture/session_clock.h"
#include "tools/board/measurement.h"
#include "tools/board/session.h"
#include "tools/can_sender.h"
#include "tools/demo_transmit.h"
#include "tools/rehearsal_hand.h"
#include "tools/stop_signal.h"
#include "tools/text_width.h"

namespace foundling {
namespace {

// A person needs a second for Enter; a look costs some milliseconds.
constexpr std::int64_t look_every_ns = 100'000'000;
// As the recorder does (daemon/README.md).
constexpr std::int64_t store_every_ns = 250'000'000;

// False when a signal came first.
bool sleep_until(std::int64_t boot_ns) {
  const timespec until{static_cast<time_t>(boot_ns / 1'000'000'000), boot_ns % 1'000'000'000};
  while (!stop_asked() && boottime_now_ns() < boot_ns) {
    clock_nanosleep(CLOCK_BOOTTIME, TIMER_ABSTIME, &until, nullptr);
  }
  return !stop_asked();
}

// Where the board's frames go. Their times count from the board's start.
class Outlet {
 public:
  virtual ~Outlet() = default;
  virtual Result<void> take(const Frame& frame) = 0;
  virtual Result<void> close(std::int64_t) { return {}; }
  // When the board's time begins, on the boot clock.
  [[nodiscard]] virtual std::int64_t start_ns() const { return boottime_now_ns(); }
};

class OntoBus : public Outlet {
 public:
  explicit OntoBus(CanSender sender) : sender_(std::move(sender)) {}
  Result<void> take(const Frame& frame) override { return sender_.send(frame); }

 private:
  CanSender sender_;
};

// A recording of its own, like foundlingd's to everybody who reads it.
class IntoCapture : public Outlet {
 public:
  static Result<std::unique_ptr<Outlet>> create(const std::string& path) {
    auto writer = CaptureWriter::create(path);
    if (!writer) return writer.error();
    if (auto locked = writer->lock_for_recording(); !locked) return locked.error();
    SessionInfo info;
    info.pack = board::pack_name;
    info.board = board::board_name;
    info.note = "a rehearsal, simulated: no such tractor, board or bench exists";
    info.tool_version = "foundling " FOUNDLING_VERSION;
    info.bit_rate = board::bus_bit_rate;
    start_session_clock(info);
    const auto session = writer->begin_session(info);
    if (!session) return session.error();
    return std::unique_ptr<Outlet>(
        new IntoCapture(std::move(writer).value(), *session, info.started_boot_ns));
  }
  Result<void> take(const Frame& frame) override {
    frames_.push_back(frame);
    if (frame.t_ns < stored_ns_ + store_every_ns) return {};
    stored_ns_ = frame.t_ns;
    return store();
  }
  [[nodiscard]] std::int64_t start_ns() const override { return start_ns_; }
  Result<void> close(std::int64_t t_ns) override {
    if (auto done = store(); !done) return done;
    if (auto done = writer_.end_session(session_, t_ns); !done) return done;
    return writer_.close();
  }

 private:
  IntoCapture(CaptureWriter writer, std::int64_t session, std::int64_t start_ns)
      : writer_(std::move(writer)), session_(session), start_ns_(start_ns) {}
  Result<void> store() {
    auto done = writer_.add_frames(session_, frames_);
    frames_.clear();
    return done;
  }

  CaptureWriter writer_;
  std::int64_t session_;
  std::int64_t start_ns_;
  std::vector<Frame> frames_;
  std::int64_t stored_ns_ = 0;
};

Result<std::unique_ptr<Outlet>> outlet_of(const ObeyOptions& options) {
  if (options.interface.empty()) return IntoCapture::create(options.capture);
  auto interface = permitted_interface(options.interface, options.bus_is_mine);
  if (!interface) return interface.error();
  auto sender = CanSender::open(*interface);
  if (!sender) return sender.error();
  return std::unique_ptr<Outlet>(new OntoBus(std::move(sender).value()));
}

// Opened for each look and let go of, so that the recorder may roll over.
Result<void> look(const std::string& capture, RehearsalHand& hand) {
  auto reader = CaptureReader::open(capture);
  if (!reader) return reader.error();
  const auto sessions = reader->sessions();
  if (!sessions) return sessions.error();
  if (sessions->empty()) return {};
  const auto marks = reader->marks(sessions->back().id);
  if (!marks) return marks.error();
  const auto readings = reader->readings(sessions->back().id);
  if (!readings) return readings.error();
  hand.look(*marks, *readings);
  for (const std::string& news : hand.news()) {
    std::cerr << paragraph("set: " + news, 0, text_width(STDERR_FILENO)) << std::flush;
  }
  return {};
}

}  // namespace

Result<Obeyed> obey(const ObeyOptions& options) {
  watch_stop_signals();
  auto outlet = outlet_of(options);
  if (!outlet) return outlet.error();
  RehearsalHand hand;
  if (auto looked = look(options.capture, hand); !looked) return looked.error();
  std::cerr << paragraph("The simulated board does what 'foundling bench run PLAN " +
                             options.capture + "' asks for. Ctrl-C stops.",
                         0, text_width(STDERR_FILENO))
            << std::flush;
  board::Board board(options.board);
  Obeyed result;
  std::vector<Frame> frames;
  std::string trouble;
  const std::int64_t start_ns = (*outlet)->start_ns();
  std::int64_t look_ns = 0;
  for (std::int64_t t_ns = 0; !stop_asked(); t_ns += board::tick_ns) {
    if (t_ns >= look_ns) {
      look_ns = t_ns + look_every_ns;
      const auto looked = look(options.capture, hand);  // busy just now: again at the next look
      if (!looked && looked.error().message != trouble) std::cerr << looked.error().message << '\n';
      trouble = looked ? "" : looked.error().message;
    }
    frames.clear();
    board.tick(hand.terminals(), frames);
    for (const Frame& frame : frames) {
      if (!sleep_until(start_ns + frame.t_ns)) break;
      if (auto done = (*outlet)->take(frame); !done) return done.error();
      ++result.frames;
    }
    if (!sleep_until(start_ns + t_ns + board::tick_ns)) break;
  }
  const std::int64_t ran_ns = boottime_now_ns() - start_ns;
  result.seconds = static_cast<double>(ran_ns) * 1e-9;
  if (auto closed = (*outlet)->close(ran_ns); !closed) return closed.error();
  return result;
}

}  // namespace foundling
