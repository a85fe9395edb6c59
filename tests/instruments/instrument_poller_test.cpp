// One instrument asked over real TCP and over a pseudo-terminal, well and badly behaved.
#include "daemon/instruments/instrument_poller.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <condition_variable>
#include <functional>
#include <map>
#include <mutex>
#include <thread>

#include "tests/instruments/simulated_instrument.h"
#include "tests/must.h"
#include "tests/scratch_folder.h"

namespace foundling {
namespace {

using std::chrono::milliseconds;

constexpr const char* volts = "MEASure:VOLTage:DC?";

InstrumentQuery query(const std::string& ask, const std::string& channel) {
  InstrumentQuery made;
  made.ask = ask;
  made.channel = {channel, "V", ChannelKind::sample};
  made.unit = "V";
  made.every_s = 0.02;
  made.setting.unit = "V";
  return made;
}

InstrumentSettings settings(const SimulatedInstrument& instrument, LineKind kind) {
  InstrumentSettings made;
  made.name = "bench meter";
  made.line = kind;
  made.address = instrument.address();
  made.timeout_s = 0.3;
  made.queries.push_back(query(volts, "pack_voltage"));
  return made;
}

// A poller in its thread, and all that it reported.
class Asked {
 public:
  explicit Asked(const InstrumentSettings& settings)
      : thread_([this, settings] {
          InstrumentPoller(settings, line_opener(settings, stop_), report(), stop_).run();
        }) {}
  ~Asked() { finish(); }

  void finish() {
    stop_.raise();
    if (thread_.joinable()) thread_.join();
  }
  std::map<std::string, std::vector<Reading>> readings() {
    const std::lock_guard lock(mutex_);
    return readings_;
  }
  std::size_t count(const std::string& channel) { return readings()[channel].size(); }
  InstrumentState last_state() {
    const std::lock_guard lock(mutex_);
    return states_.empty() ? InstrumentState{} : states_.back();
  }
  // Waits for it, for as long as a slow machine may need.
  bool sees(const std::function<bool(Asked&)>& condition) {
    const auto until = std::chrono::steady_clock::now() + std::chrono::seconds(30);
    while (std::chrono::steady_clock::now() < until) {
      if (condition(*this)) return true;
      std::this_thread::sleep_for(milliseconds(5));
    }
    return false;
  }
  bool becomes(const std::string& state) {
    return sees([&](Asked& asked) { return asked.last_state().state == state; });
  }

 private:
  InstrumentReport report() {
    InstrumentReport made;
    made.now_ns = [] {
      return std::chrono::nanoseconds(std::chrono::steady_clock::now().time_since_epoch()).count();
    };
    made.reading = [this](const Channel& channel, const Reading& reading) {
      const std::lock_guard lock(mutex_);
      readings_[channel.name].push_back(reading);
      return true;
    };
    made.state = [this](const InstrumentState& state) {
      const std::lock_guard lock(mutex_);
      states_.push_back(state);
    };
    return made;
  }

  StopSign stop_;
  std::mutex mutex_;
  std::map<std::string, std::vector<Reading>> readings_;
  std::vector<InstrumentState> states_;
  std::thread thread_;  // last: it uses all of the above
};

bool has_three(Asked& asked) { return asked.count("pack_voltage") >= 3; }

void check_answers(SimulatedInstrument& instrument, LineKind kind) {
  instrument.set_answer(volts, "+9.81000000E+01");
  InstrumentSettings setup = settings(instrument, kind);
  setup.queries[0].meter = must(parse_meter_specification("0.05% + 10 mV"));
  Asked asked(setup);
  REQUIRE(asked.sees(has_three));
  CHECK(asked.becomes("working"));
  CHECK(asked.last_state().identity == SimulatedInstrument::identity);
  const auto readings = asked.readings()["pack_voltage"];
  CHECK(readings[0].value == 98.1);
  // 0.05 % of 98.1 V and 10 mV as a limit, rectangular (GUM 4.3.7).
  CHECK(readings[0].uncertainty == doctest::Approx(0.05905 / std::sqrt(3.0)));
  CHECK(readings[1].t_ns > readings[0].t_ns);
  asked.finish();
  for (const std::string& line : instrument.asked()) {
    CAPTURE(line);
    CHECK(line.back() == '?');  // nothing but queries ever went out
  }
}

// The same over TCP and over a serial line.
template <typename Check>
void over_both_lines(Check check) {
  const ScratchFolder folder;
  SimulatedInstrument over_tcp;
  check(over_tcp, LineKind::tcp);
  SimulatedInstrument over_serial(folder / "meter");
  check(over_serial, LineKind::serial);
}

}  // namespace

TEST_CASE("answers over TCP are readings with their uncertainty") {
  SimulatedInstrument instrument;
  check_answers(instrument, LineKind::tcp);
}

TEST_CASE("answers over a serial line are readings with their uncertainty") {
  const ScratchFolder folder;
  SimulatedInstrument instrument(folder / "meter");
  check_answers(instrument, LineKind::serial);
}

// A pseudo-terminal takes and gives whole messages as the kernel's USBTMC device does; the requests
// that only the real device knows are refused by it and passed over.
TEST_CASE("answers message by message, as the USBTMC device gives them") {
  const ScratchFolder folder;
  SimulatedInstrument instrument(folder / "meter");
  check_answers(instrument, LineKind::usbtmc);
}

TEST_CASE("overload is no reading, and over when the answers are numbers again") {
  SimulatedInstrument instrument;
  for (const char* code : {"+9.90000000E+37", "-9.9E37", "9.91E37"}) {
    instrument.set_answer(volts, code);
    Asked asked(settings(instrument, LineKind::tcp));
    CHECK(asked.becomes("overload"));
    CHECK(asked.count("pack_voltage") == 0);
    instrument.set_answer(volts, "12.5");
    CHECK(asked.sees(has_three));
    CHECK(asked.becomes("working"));
    CHECK(asked.last_state().refused >= 1);
  }
}

TEST_CASE("garbage is no reading, is told, and passes") {
  SimulatedInstrument instrument;
  for (const char* text : {"ERR!", "\x01\xfe\xff", "1.2.3", ""}) {
    instrument.set_answer(volts, text);
    Asked asked(settings(instrument, LineKind::tcp));
    CHECK(asked.becomes("garbled"));
    CHECK(asked.count("pack_voltage") == 0);
    instrument.set_answer(volts, "12.5");
    CHECK(asked.sees(has_three));
    CHECK(asked.becomes("working"));
  }
}

TEST_CASE("an answer without an end is given up") {
  SimulatedInstrument instrument;
  instrument.set_answer(volts, std::string(100'000, 'x'));
  Asked asked(settings(instrument, LineKind::tcp));
  CHECK(asked.becomes("silent"));
  instrument.set_answer(volts, "12.5");
  CHECK(asked.sees(has_three));
}

TEST_CASE("silence is told, and over when it answers again") {
  over_both_lines([](SimulatedInstrument& instrument, LineKind line) {
    instrument.set_answer(volts, "12.5");
    Asked asked(settings(instrument, line));
    REQUIRE(asked.sees(has_three));
    instrument.set_silent(true);
    CHECK(asked.becomes("silent"));
    const std::size_t before = asked.count("pack_voltage");
    instrument.set_silent(false);
    CHECK(asked.becomes("working"));
    CHECK(asked.sees([&](Asked& a) { return a.count("pack_voltage") > before; }));
  });
}

TEST_CASE("a late answer never passes for the answer to another query") {
  over_both_lines([](SimulatedInstrument& instrument, LineKind line) {
    instrument.set_answer("FIRSt?", "1");
    instrument.set_answer("SECond?", "2");
    InstrumentSettings setup = settings(instrument, line);
    setup.timeout_s = 0.05;
    setup.queries = {query("FIRSt?", "first"), query("SECond?", "second")};
    Asked asked(setup);
    for (int round = 0; round < 15; ++round) {
      instrument.set_delay(milliseconds(round % 3 * 40));  // 0, 40 and 80 ms of 50 allowed
      std::this_thread::sleep_for(milliseconds(100));
    }
    instrument.set_delay(milliseconds(0));
    CHECK(asked.sees([](Asked& a) { return a.count("first") > 5 && a.count("second") > 5; }));
    auto readings = asked.readings();
    for (const Reading& reading : readings["first"]) CHECK(reading.value == 1);
    for (const Reading& reading : readings["second"]) CHECK(reading.value == 2);
  });
}

TEST_CASE("an instrument that goes away is tried again with growing waits until it is back") {
  const ScratchFolder folder;
  SimulatedInstrument over_tcp;
  SimulatedInstrument over_serial(folder / "meter");
  for (SimulatedInstrument* instrument : {&over_tcp, &over_serial}) {
    instrument->set_answer(volts, "12.5");
    Asked asked(settings(*instrument, instrument == &over_tcp ? LineKind::tcp : LineKind::serial));
    REQUIRE(asked.sees(has_three));
    instrument->unplug();
    CHECK(asked.becomes("away"));
    const std::size_t before = asked.count("pack_voltage");
    instrument->plug_in();
    CHECK(asked.sees([&](Asked& a) { return a.count("pack_voltage") > before; }));
  }
  CHECK(over_tcp.connections() == 2);
}

TEST_CASE("where nobody is, it stays away, says why, and stops at once when told") {
  InstrumentSettings setup;
  {
    const SimulatedInstrument gone;
    setup = settings(gone, LineKind::tcp);
  }
  setup.timeout_s = 60;
  const auto started = std::chrono::steady_clock::now();
  Asked asked(setup);
  CHECK(asked.becomes("away"));
  CHECK(asked.last_state().detail.find("Connection refused") != std::string::npos);
  asked.finish();
  CHECK(std::chrono::steady_clock::now() - started < std::chrono::seconds(20));

  SimulatedInstrument quiet;
  quiet.set_silent(true);
  setup.address = quiet.address();
  Asked waiting(setup);
  std::this_thread::sleep_for(milliseconds(100));  // it waits a minute for its *IDN? now
  waiting.finish();
  CHECK(std::chrono::steady_clock::now() - started < std::chrono::seconds(20));
}

TEST_CASE("what is no serial line is told") {
  const ScratchFolder folder;
  InstrumentSettings setup;
  setup.name = "m";
  setup.line = LineKind::serial;
  setup.address = "/dev/null";
  setup.queries.push_back(query("READ?", "a"));
  Asked asked(setup);
  CHECK(asked.becomes("away"));
  CHECK(asked.last_state().detail == "/dev/null: no serial line");
}

}  // namespace foundling
