#include "tools/demo.h"

#include <iomanip>
#include <iostream>
#include <memory>
#include <string>

#include "tools/board/session.h"
#include "tools/command_line.h"
#include "tools/demo_files.h"
#include "tools/demo_obey.h"
#include "tools/demo_transmit.h"

namespace foundling {
namespace {

struct Wanted {
  std::string capture;
  std::string csv_folder;
  int session = 1;
  bool small = false;
  bool obey = false;
  TransmitOptions transmit;
};

int fail(const Error& error) {
  std::cerr << "foundling demo: error: " << error.message << '\n';
  return exit_trouble;
}

std::size_t reading_count(const board::BenchSession& session) {
  std::size_t count = 0;
  for (const ChannelSeries& series : session.channels) count += series.readings.size();
  return count;
}

int write_csv(const Wanted& wanted, const board::BenchSession& session) {
  const auto written = write_session_csv(wanted.csv_folder, wanted.session, session);
  if (!written) return fail(written.error());
  std::cout << written->frames.string() << ": " << session.frames.size() << " frames\n"
            << written->stimulus.string() << ": " << reading_count(session) << " readings\n";
  return exit_good;
}

int write_capture(const Wanted& wanted, const board::BenchSession& session) {
  const auto written = write_session_capture(wanted.capture, wanted.session, session);
  if (!written) return fail(written.error());
  std::cout << wanted.capture << ": " << session.frames.size() << " frames, "
            << reading_count(session) << " readings of " << session.channels.size() << " channels, "
            << session.duration_ns / 1'000'000'000 << " s; all invented by a simulated board\n";
  return exit_good;
}

int play(const Wanted& wanted, const board::BenchSession& session) {
  const auto sent = transmit(session, wanted.transmit);
  if (!sent) return fail(sent.error());
  std::cout << sent->frames << " frames sent, " << sent->readings << " readings, " << std::fixed
            << std::setprecision(1) << sent->seconds << " s, worst lateness "
            << sent->worst_lateness_s * 1000 << " ms"
            << (sent->interrupted ? "; stopped by a signal" : "") << '\n';
  return exit_good;
}

int rehearse(const Wanted& wanted) {
  if (wanted.capture.empty() || !wanted.csv_folder.empty()) {
    return fail(
        {ErrorCode::usage,
         "--obey: say which capture's walk: a new one, or with --transmit INTERFACE the one "
         "that foundlingd records from there"});
  }
  const TransmitOptions& out = wanted.transmit;
  const auto done = obey({wanted.capture, out.interface, out.bus_is_mine,
                          board::session_options(wanted.session, wanted.small).board});
  if (!done) return fail(done.error());
  std::cout << wanted.capture << ": " << done->frames << " frames in " << std::fixed
            << std::setprecision(1) << done->seconds << " s; all invented by a simulated board\n";
  return exit_good;
}

int run(const Wanted& wanted) {
  if (wanted.obey) return rehearse(wanted);
  const bool transmits = !wanted.transmit.interface.empty();
  const int targets =
      (wanted.capture.empty() ? 0 : 1) + (wanted.csv_folder.empty() ? 0 : 1) + (transmits ? 1 : 0);
  if (targets != 1) {
    return fail(
        {ErrorCode::usage,
         "say where the session goes: a new capture, --csv FOLDER or --transmit INTERFACE"});
  }
  const auto session = board::run_session(board::session_options(wanted.session, wanted.small));
  if (transmits) return play(wanted, session);
  return wanted.capture.empty() ? write_csv(wanted, session) : write_capture(wanted, session);
}

void declare_transmit(CommandLine app, TransmitOptions& options, CommandOption obeys) {
  auto onto = app.add_option("--transmit", options.interface,
                             "Send the session's frames on this CAN interface, in real time")
                  .type_name("INTERFACE");
  app.add_flag("--yes-this-bus-is-mine", options.bus_is_mine,
               "Allow an interface that is not virtual: nothing but your own test equipment may be "
               "on that bus")
      .needs(onto);
  app.add_option(
         "--speed", options.speed,
         "Session seconds a second; default 1. Faster means plateaus too short to find signals on")
      .type_name("X")
      .excludes(obeys)
      .check(number_between(0.01, 1000))
      .needs(onto);
  app.add_option("--seconds", options.seconds, "Stop sending after so long")
      .type_name("S")
      .excludes(obeys)
      .check(number_between(1e-3, any_size))
      .needs(onto);
  app.add_option("--readings-into", options.readings_into,
                 "Write the bench's readings into this capture, while foundlingd records it")
      .type_name("CAPTURE")
      .excludes(obeys)
      .needs(onto);
  app.add_option("--stimulus", options.stimulus_file,
                 "Write the bench's readings into this new CSV file, on the wall clock")
      .type_name("FILE")
      .excludes(obeys)
      .needs(onto);
}

std::function<int()> declare(CommandLine app) {
  auto wanted = std::make_shared<Wanted>();
  app.add_option("capture", wanted->capture, "Write the session into this new capture");
  app.add_option("--csv", wanted->csv_folder,
                 "Write the session as two CSV files into this folder, for `foundling import`")
      .type_name("FOLDER");
  app.add_option("--session", wanted->session,
                 "The same board with another order of levels; default 1")
      .type_name("N")
      .check(whole_number_between(1, 1'000'000));
  app.add_flag("--small", wanted->small, "A short session of a slow board, some thousand frames");
  auto obeys = app.add_flag(
      "--obey", wanted->obey,
      "Rehearse: the board does what 'foundling bench run' asks for in this capture, which is new "
      "and recorded here, or with --transmit the one that foundlingd records; until Ctrl-C");
  declare_transmit(app, wanted->transmit, obeys);
  app.footer(
      "The board, its tractor and its bench are invented. This is the only command that ever\n"
      "transmits, and only with --transmit. Never play it onto a bus with a real pack on it.\n"
      "\n"
      "Example: a session to find signals in, and one to check them with\n"
      "  foundling demo tractor-1.capture\n"
      "  foundling demo tractor-2.capture --session 2\n"
      "\n"
      "Example: the board on a virtual bus, while foundlingd records bench.capture from vcan0\n"
      "  foundling demo --transmit vcan0 --readings-into bench.capture\n"
      "\n"
      "Example: a rehearsal without any hardware; in another terminal\n"
      "foundling bench run tractor.plan try.capture asks, and here the board does it\n"
      "  foundling demo --obey try.capture");
  return [wanted] { return run(*wanted); };
}

}  // namespace

Command demo_command() {
  return {"demo", "Play an invented board's bench session into a capture or onto a CAN interface",
          declare};
}

}  // namespace foundling
