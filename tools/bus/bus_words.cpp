#include "tools/bus/bus_words.h"

#include <algorithm>
#include <array>
#include <cstdio>
#include <string_view>

namespace foundling {
namespace {

std::string number(double value) {
  std::array<char, 40> text{};
  std::snprintf(text.data(), text.size(), "%.6g", value);
  return text.data();
}

std::string timing_in_words(const BitTiming& timing) {
  std::string text = rate_in_words(timing.bit_rate);
  if (timing.sample_point > 0) {
    text += ", sample point " + number(timing.sample_point * 100) + " %";
  }
  return text;
}

void add_count(std::string& text, std::uint64_t count, std::string_view what) {
  if (count == 0) return;
  if (!text.empty()) text += ", ";
  text += std::to_string(count) + ' ' + std::string(what);
}

std::string faults_in_words(const HeardFaults& faults) {
  std::string text;
  add_count(text, faults.acknowledge, "at the acknowledge");
  add_count(text, faults.stuff, "stuff");
  add_count(text, faults.form, "form");
  add_count(text, faults.crc, "CRC");
  add_count(text, faults.bit, "bit");
  add_count(text, faults.reserved_bit, "at a reserved bit");
  add_count(text, faults.unspecified, "not described");
  return text;
}

std::string up_command(const std::string& name, const Listening& heard, const DataRate& data) {
  std::string text =
      "  foundling bus up " + name + " --bit-rate " + std::to_string(heard.bit_rate());
  if (data.best == nullptr) return text;
  return text + " --data-bit-rate " + std::to_string(data.best->data_bit_rate());
}

std::string explain_right_rate(const Listening& heard, const DataRate& data,
                               const std::string& name) {
  const std::string rate = rate_in_words(heard.bit_rate());
  const std::string up = up_command(name, heard, data);
  switch (judge(heard)) {
    case BusVerdict::not_acknowledged:
      return "The bit rate is " + rate +
             ", and nobody acknowledges. The board sends one frame again and again because no "
             "other node on the bus confirms it, and this adapter was only listening. Connect the "
             "rest of the bus, or, when the board is alone with the adapter on the bench, let the "
             "adapter acknowledge (it still sends no data frame):\n" +
             up + " --acknowledge\n";
    case BusVerdict::fd_frames:
      return "The bit rate is " + rate +
             ", and the board speaks CAN FD: a classical controller stumbles over every frame "
             "at its reserved bit.\n";
    case BusVerdict::noisy:
      return "The bit rate is " + rate +
             ", but many frames fail. Check the termination (about 60 ohm between the wires with "
             "the power off), the twisted pair, the common ground, and the sample point:\n" +
             up + "\n";
    default:
      return "The bit rate is " + rate + ". To record:\n" + up + "\n";
  }
}

std::string explain_no_rate(const RateSearch& search) {
  const bool anything = std::ranges::any_of(
      search.tried, [](const Listening& heard) { return judge(heard) != BusVerdict::silent; });
  if (!anything) return "Nothing is heard at any of these rates.\n" + silence_checklist();
  const bool described = std::ranges::any_of(
      search.tried, [](const Listening& heard) { return judge(heard) == BusVerdict::wrong_rate; });
  if (!described) {
    return "Something is on the bus, but the adapter does not tell which errors it meets, and no "
           "rate let a frame through. Try other rates with --rate, and acknowledging mode with the "
           "likeliest rate.\n";
  }
  return "Something is on the bus, and none of these rates fits it. Try others with --rate (in "
         "bit/s); if none fits, check that the two wires are not swapped and that the ground is "
         "common: swapped "
         "wires look like a wrong rate.\n";
}

}  // namespace

std::string rate_in_words(std::uint32_t bit_rate) {
  if (bit_rate == 0) return "no bit rate";
  if (bit_rate >= 1'000'000) return number(bit_rate / 1e6) + " Mbit/s";
  return number(bit_rate / 1e3) + " kbit/s";
}

std::string describe_link(const CanLink& link) {
  std::string text = link.name + ": " + (link.up ? "up" : "down");
  if (link.is_virtual()) return text + ", virtual (" + link.kind + "), no wire behind it\n";
  if (!link.state.empty() && link.state != "stopped") text += ", " + link.state;
  text += ", " + timing_in_words(link.nominal);
  if (link.data.bit_rate != 0) text += "; FD data " + timing_in_words(link.data);
  if (link.up) text += link.listen_only ? ", listen-only" : ", acknowledges";
  if (link.restart_ms != 0) {
    text += ", restarts " + std::to_string(link.restart_ms) + " ms after a bus-off";
  }
  text += "\n  received " + std::to_string(link.counters.frames) + " frames, dropped " +
          std::to_string(link.counters.dropped) + ", controller overruns " +
          std::to_string(link.counters.overruns);
  if (link.receive_errors) {
    text += "; error counters: receive " + std::to_string(*link.receive_errors) + ", transmit " +
            std::to_string(link.transmit_errors.value_or(0));
  }
  text += "\n  so far: " + std::to_string(link.counters.bus_errors) + " bus errors, " +
          std::to_string(link.counters.times_warning) + " times at warning, " +
          std::to_string(link.counters.times_passive) + " times passive, " +
          std::to_string(link.counters.times_bus_off) + " times bus off\n";
  return text;
}

std::string describe_heard(const Listening& heard) {
  std::string text = std::to_string(heard.frames()) + " frames";
  if (heard.fd_frames() > 0) {
    text += " (" + std::to_string(heard.fd_frames()) + " of CAN FD, " +
            std::to_string(heard.switched()) + " at the data rate)";
  }
  const std::string faults = faults_in_words(heard.faults());
  text += faults.empty() ? ", no errors" : "; errors: " + faults;
  if (heard.repeats_one_frame()) text += "; all the same frame, one behind the other";
  return text;
}

const Listening* RateSearch::best() const {
  const Listening* best = nullptr;
  for (const Listening& heard : tried) {
    const BusVerdict verdict = judge(heard);
    if (!is_right_rate(verdict)) continue;
    // The order of the verdicts is the order of how good the news is.
    if (best == nullptr || verdict < judge(*best)) best = &heard;
  }
  return best;
}

DataRate RateSearch::data_rate() const {
  const Listening* heard = best();
  return data_rate_of(tried, heard != nullptr ? heard->bit_rate() : 0);
}

std::string explain_search(const RateSearch& search, const std::string& name) {
  if (const Listening* heard = search.best()) {
    return explain_right_rate(*heard, search.data_rate(), name) + explain_data_rate(search);
  }
  return explain_no_rate(search) + explain_data_rate(search);
}

std::string silence_checklist() {
  return "What to check, in this order:\n"
         "  1. Is the board powered, and does its supply give current? (a sleeping board draws "
         "next "
         "to none)\n"
         "  2. Is it awake? Many boards speak only with their ignition or wake-up input at supply "
         "level.\n"
         "  3. Are the wires the right pair? With power both rest near 2.5 V against the board's "
         "ground.\n"
         "  4. Is CAN high on CAN high, and low on low? Swap them once and listen again.\n"
         "  5. Power off: about 60 ohm between the wires. 120: one end lacks its terminator; open: "
         "both do.\n"
         "  6. Is the adapter's ground on the board's ground?\n"
         "  7. Does the board only answer when asked? Foundling does not ask.\n"
         "With a meter's figures `foundling bus silent` says what they mean, and what to try.\n";
}

}  // namespace foundling
