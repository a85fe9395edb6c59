// The sentences of silent_board.h.
#include <algorithm>
#include <array>
#include <cstdio>

#include "tools/bus/silent_board.h"

namespace foundling {
namespace {

std::string number(double value) {
  std::array<char, 40> text{};
  std::snprintf(text.data(), text.size(), "%.3g", value);
  return text.data();
}

std::string broken(const std::string& text, const std::string& first, const std::string& rest) {
  constexpr std::size_t columns = 80;
  std::string out = first;
  std::size_t used = first.size();
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find(' ', at), text.size());
    const std::string word = text.substr(at, end - at);
    const bool begins = used == first.size() && out.size() == first.size();
    if (!begins && used + 1 + word.size() > columns) {
      out += '\n' + rest;
      used = rest.size();
    } else if (!begins) {
      out += ' ';
      ++used;
    }
    out += word;
    used += word.size();
    at = end + 1;
  }
  return out + '\n';
}

std::string current_words(const SupplyCurrent& current, SupplyState state) {
  const std::string shown =
      number(current.least * 1000) +
      (current.most > current.least * 1.05 ? " to " + number(current.most * 1000) : std::string()) +
      " mA: ";
  switch (state) {
    case SupplyState::nothing:
      return shown + "no current at all. The supply does not reach the board.";
    case SupplyState::asleep:
      return shown + "the board sleeps.";
    case SupplyState::awake:
      return shown + "the board works.";
    case SupplyState::swinging:
      return shown + "the board starts and stops again" +
             (current.period_s ? ", every " + number(*current.period_s) + " s" : "") +
             ". It resets itself, or wakes up and goes back to sleep.";
    case SupplyState::at_limit:
      break;
  }
  return shown + "the supply is at its limit, and its voltage breaks down with it.";
}

std::string pair_words(double high_v, double low_v, PairState state) {
  const std::string shown = number(high_v) + " V and " + number(low_v) + " V: ";
  switch (state) {
    case PairState::idle:
      return shown + "a CAN pair at rest, with a transceiver awake; nobody speaks.";
    case PairState::asleep:
      return shown +
             "no transceiver drives the pair: board asleep or unpowered, or the wrong wires.";
    case PairState::talking:
      return shown +
             "frames are on the wires (a meter shows their mean). So the bit rate, the "
             "adapter or its ground is what is wrong.";
    case PairState::swapped:
      return shown + "frames are on the wires, and high and low are swapped.";
    case PairState::held:
      return shown + "the bus is held dominant: a node in fault, or a short to a supply line.";
    case PairState::faulty:
      break;
  }
  return shown + "no CAN pair at rest. A wire is broken or shorted, or these are other wires.";
}

std::string resistance_words(double ohm) {
  const std::string shown = number(ohm) + " ohm: ";
  if (ohm < 5) return shown + "the wires are shorted.";
  if (ohm < 50) return shown + "too low: a third terminator, or a short somewhere.";
  if (ohm <= 70) return shown + "both ends are terminated.";
  if (ohm < 100) return shown + "neither one terminator nor two; look for a damaged one.";
  if (ohm <= 140) return shown + "one end is terminated; on a short bench bus that often does.";
  return shown + "open: no terminator. Put 120 ohm between the wires at each end.";
}

using Steps = std::vector<std::string>;

void add_supply_steps(Steps& steps, SupplyState state) {
  switch (state) {
    case SupplyState::nothing:
      steps.emplace_back(
          "Look for the board's supply input and ground, its fuse, and the polarity.");
      return;
    case SupplyState::asleep:
      steps.emplace_back(
          "Put the supply's voltage on one input after the other that may be the wake-up line "
          "(ignition, charger, relay feedback), each through 1 kohm, and watch the current: it "
          "jumps when the board wakes. `foundling bench touch` tells which line did it once "
          "frames come.");
      return;
    case SupplyState::swinging:
      steps.emplace_back(
          "Give it what it misses at start: its cells or a divider chain on the cell taps, then "
          "resistors for room temperature on the thermistor inputs; one at a time.");
      steps.emplace_back(
          "Hold its wake-up line at supply level for as long as it is to stay awake.");
      return;
    case SupplyState::at_limit:
      steps.emplace_back(
          "Power off. Look for reversed polarity and shorts before anything else; raise the limit "
          "only as far as the board's own fuse allows.");
      return;
    case SupplyState::awake:
      return;
  }
}

void add_pair_steps(Steps& steps, PairState state) {
  switch (state) {
    case PairState::idle:
      steps.emplace_back(
          "Power the board off and on with the adapter already acknowledging (`foundling bus up "
          "NAME --bit-rate N --acknowledge`): a board that nobody acknowledged may have given up.");
      return;
    case PairState::asleep:
      steps.emplace_back(
          "Measure other pairs of the connector against ground: a CAN pair rests at 2 to 3 V on "
          "both wires once the board is awake.");
      return;
    case PairState::talking:
      steps.emplace_back(
          "Connect the adapter's ground to the board's. Then `foundling bus find` with more rates "
          "(--rate), and with an FD adapter unusual data rates (--data-rate).");
      return;
    case PairState::swapped:
      steps.emplace_back(
          "Exchange the two wires at the adapter and run `foundling bus find` again.");
      return;
    case PairState::held:
      steps.emplace_back(
          "Take the nodes off the bus one at a time, the adapter first, until it comes to rest.");
      return;
    case PairState::faulty:
      steps.emplace_back(
          "Follow both wires to the board's connector; measure each to ground, power "
          "off.");
      return;
  }
}

}  // namespace

std::string explain_silence(const SilentBoard& board) {
  std::string out;
  Steps steps;
  if (board.current) {
    const SupplyState state = supply_state(*board.current, board.limit_a);
    out += broken(current_words(*board.current, state), "Supply current ", "  ");
    add_supply_steps(steps, state);
  } else {
    steps.emplace_back("Read the supply's current for ten seconds (--current 0.002..0.085).");
  }
  if (board.high_v && board.low_v) {
    const PairState state = pair_state(*board.high_v, *board.low_v);
    out += broken(pair_words(*board.high_v, *board.low_v, state), "Pair at ", "  ");
    add_pair_steps(steps, state);
  } else {
    steps.emplace_back(
        "With power on, measure both wires against the board's ground (--high 2.5 --low 2.5).");
  }
  if (board.between_ohm) {
    out += broken(resistance_words(*board.between_ohm), "Between the wires ", "  ");
  } else {
    steps.emplace_back("With power off, measure between the two wires (--between 60).");
  }
  if (steps.size() <= 1) {
    steps.emplace_back(
        "Some boards speak only when they are asked, and some talk to their cell modules over an "
        "isolated serial chain: both are out of reach here (README, \"When it is silent\").");
  }
  out += "What to do, in this order:\n";
  int number = 0;
  for (const std::string& step : steps) {
    out += broken(step, "  " + std::to_string(++number) + ". ", "     ");
  }
  return out;
}

}  // namespace foundling
