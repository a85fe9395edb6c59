// A board whose bus and meters tell of the same voltage and current, for tests of the recorder with
// instruments: it sends frames onto a CAN interface of a test guest, and two simulated instruments
// of this project, one over TCP and one over a pseudo-terminal, answer what is true at that moment.
// Each of them falls silent, answers garbage, overloads, is unplugged and comes back, one after the
// other.
//   metered_board INTERFACE LINK SEED      LINK leads to the pseudo-terminal
// Prints the TCP address, waits for a line on its input, and then prints what befalls whom:
// "INSTRUMENT FAULT FROM TO", in seconds on CLOCK_BOOTTIME, the recorder's clock; at the end
// "played", and its instruments stay until another line comes. For tests only.
#include <linux/can.h>
#include <linux/can/raw.h>
#include <net/if.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <iostream>
#include <random>
#include <string>

#include "tests/instruments/simulated_instrument.h"

namespace {

using foundling::SimulatedInstrument;

constexpr double step_s = 2, fault_s = 5, pause_s = 8, first_fault_s = 20;

double boottime() {
  timespec now{};
  clock_gettime(CLOCK_BOOTTIME, &now);
  return static_cast<double>(now.tv_sec) + static_cast<double>(now.tv_nsec) * 1e-9;
}

std::string number(double value) {
  char text[40];
  std::snprintf(text, sizeof text, "%+.6E", value);  // NR3, as SCPI calls it
  return text;
}

class Board {
 public:
  Board(const char* interface, const char* link, unsigned seed) : second_(link), random_(seed) {
    socket_ = socket(PF_CAN, SOCK_RAW, CAN_RAW);
    setsockopt(socket_, SOL_CAN_RAW, CAN_RAW_FILTER, nullptr, 0);  // receives nothing itself
    sockaddr_can address{};
    address.can_family = AF_CAN;
    address.can_ifindex = static_cast<int>(if_nametoindex(interface));
    ready_ = address.can_ifindex != 0 &&
             bind(socket_, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0;
  }
  [[nodiscard]] bool ready() const { return ready_; }
  [[nodiscard]] std::string address() const { return first_.address(); }

  void run() {
    move();
    play(first_fault_s);
    for (const char* fault : {"silent", "garbled", "overload", "unplugged"}) {
      for (SimulatedInstrument* one : {&first_, &second_}) {
        fault_ = fault;
        befallen_ = one;
        set_answers();
        const double from = boottime();
        begin_fault(*one);
        play(fault_s);
        std::cout << (one == &first_ ? "tcp " : "serial ") << fault << ' ' << std::to_string(from)
                  << ' ' << std::to_string(boottime()) << std::endl;
        end_fault(*one);
        play(pause_s);
      }
    }
  }

 private:
  void begin_fault(SimulatedInstrument& one) {
    if (fault_ == "silent") one.set_silent(true);
    if (fault_ == "unplugged") one.unplug();
  }
  void end_fault(SimulatedInstrument& one) {
    fault_.clear();
    befallen_ = nullptr;
    set_answers();
    one.set_silent(false);
    if (!one.is_plugged_in()) one.plug_in();
  }

  void move() {
    voltage_ = std::uniform_real_distribution<double>(70, 102)(random_);
    current_ = std::uniform_real_distribution<double>(-100, 120)(random_);
    set_answers();
  }
  // Volts over TCP; the shunt's millivolts (75 mV at 100 A) over the serial line.
  void set_answers() {
    const auto answer = [&](const SimulatedInstrument* one, double value) -> std::string {
      if (one != befallen_) return number(value);
      if (fault_ == "garbled") return "E-?7\x01";
      if (fault_ == "overload") return "+9.90000000E+37";
      return number(value);
    };
    first_.set_answer("MEASure:VOLTage:DC?", answer(&first_, voltage_));
    second_.set_answer("READ?", answer(&second_, current_ * 0.75));
  }

  // A frame every 20 ms, another level every two seconds.
  void play(double seconds) {
    const double until = boottime() + seconds;
    while (boottime() < until) {
      if (boottime() >= next_move_) {
        move();
        next_move_ = boottime() + step_s;
      }
      send();
      usleep(20'000);
    }
  }
  void send() {
    const auto amps = static_cast<int>(std::lround(current_ / 0.1));
    const auto volts = static_cast<int>(std::lround(voltage_ / 0.1));
    can_frame frame{};
    frame.can_id = 0x1A4;
    frame.can_dlc = 8;
    const int bytes[8] = {amps >> 8, amps, volts >> 8, volts, 0, 0, static_cast<int>(count_++ % 16),
                          0};
    for (int i = 0; i < 8; ++i) frame.data[i] = static_cast<unsigned char>(bytes[i] & 0xFF);
    while (write(socket_, &frame, sizeof frame) < 0 && errno == ENOBUFS) usleep(1000);
  }

  SimulatedInstrument first_;   // over TCP
  SimulatedInstrument second_;  // over the pseudo-terminal
  std::mt19937 random_;
  int socket_ = -1;
  bool ready_ = false;
  double voltage_ = 0, current_ = 0, next_move_ = 0;
  unsigned count_ = 0;
  std::string fault_;
  const SimulatedInstrument* befallen_ = nullptr;
};

}  // namespace

int main(int argc, char** argv) {
  if (argc != 4 || std::getenv("FOUNDLING_GUEST") == nullptr) {
    std::cerr << "metered_board INTERFACE LINK SEED, in a test guest only\n";
    return 2;
  }
  Board board(argv[1], argv[2], static_cast<unsigned>(std::atoi(argv[3])));
  if (!board.ready()) {
    std::cerr << argv[1] << ": cannot send there\n";
    return 2;
  }
  std::cout << board.address() << std::endl;
  std::string line;
  std::getline(std::cin, line);
  board.run();
  std::cout << "played" << std::endl;
  std::getline(std::cin, line);
  return 0;
}
