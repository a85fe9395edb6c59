// `foundling bus`: lists CAN interfaces, sets one up or down, finds the bit rate by listening.
// Sends no data frame, and acknowledges only where that was asked for.
#include "tools/bus.h"

#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <iostream>
#include <memory>
#include <string>
#include <vector>

#include "decoder/report/paragraph.h"
#include "schemas/link/link_message.h"
#include "schemas/link/link_setup.h"
#include "schemas/values/bit_rate.h"
#include "tools/bus/bus_json.h"
#include "tools/bus/rate_search.h"
#include "tools/bus_silent.h"
#include "tools/command_line.h"
#include "tools/stop_signal.h"
#include "tools/text_width.h"

namespace foundling {
namespace {

struct Wanted {
  std::string interface;
  LinkSetup setup;
  double sample_point_percent = 0, data_sample_point_percent = 0;
  std::vector<std::uint32_t> rates, data_rates;
  double seconds = 2;
  bool json = false;
};

int fail(const Error& error) {
  std::cerr << "foundling bus: error: " << error.message << '\n';
  return exit_trouble;
}

// Exit status 1: there is none.
int list(Wanted& wanted) {
  const auto links = can_links();
  if (!links) return fail(links.error());
  if (wanted.json) {
    std::cout << links_json(*links);
  } else {
    for (const CanLink& link : *links)
      std::cout << paragraphs(describe_link(link), text_width(STDOUT_FILENO));
  }
  if (!links->empty()) return exit_good;
  std::cerr << paragraph(
      "foundling bus: this machine has no CAN interface now. Is the adapter plugged in, and its "
      "driver loaded?",
      0, text_width(STDERR_FILENO));
  return exit_findings;
}

Result<CanLink> link_that_is_down(const std::string& name) {
  auto link = can_link(name);
  if (!link || !link->up) return link;
  return Error{ErrorCode::busy,
               name + " is up" +
                   (link->nominal.bit_rate != 0 ? " at " + rate_in_words(link->nominal.bit_rate)
                                                : std::string()) +
                   ", somebody may be recording on it; take it down first: "
                   "foundling bus down " +
                   name};
}

int up(Wanted& wanted) {
  const auto link = link_that_is_down(wanted.interface);
  if (!link) return fail(link.error());
  if (link->kind == "can" && wanted.setup.bit_rate == 0) {
    return fail({ErrorCode::usage, link->name +
                                       ": which bit rate? give --bit-rate, or let "
                                       "\"foundling bus find " +
                                       link->name + "\" find it"});
  }
  wanted.setup.sample_point = wanted.sample_point_percent / 100;
  wanted.setup.data_sample_point = wanted.data_sample_point_percent / 100;
  if (auto done = bring_up(*link, wanted.setup); !done) return fail(done.error());
  const auto now = can_link(wanted.interface);
  if (!now) return fail(now.error());
  std::cout << paragraphs(describe_link(*now), text_width(STDOUT_FILENO));
  if (now->listen_only) {
    std::cerr << paragraph(
        "It only listens. If the board is alone with this adapter nobody acknowledges its frames, "
        "and it repeats one for ever: then take it down, and up again with --acknowledge.",
        0, text_width(STDERR_FILENO), 0);
  }
  return exit_good;
}

int down(Wanted& wanted) {
  const auto link = can_link(wanted.interface);
  if (!link) return fail(link.error());
  if (auto done = take_down(*link); !done) return fail(done.error());
  const auto now = can_link(wanted.interface);
  if (!now) return fail(now.error());
  std::cout << paragraphs(describe_link(*now), text_width(STDOUT_FILENO));
  return exit_good;
}

std::vector<std::uint32_t> with_more(std::vector<std::uint32_t> usual,
                                     const std::vector<std::uint32_t>& more) {
  for (const std::uint32_t rate : more) {
    if (std::ranges::count(usual, rate) == 0) usual.push_back(rate);
  }
  return usual;
}

SearchPlan plan_of(const Wanted& wanted) {
  SearchPlan plan;
  plan.bit_rates = with_more(usual_bit_rates(), wanted.rates);
  plan.data_bit_rate = wanted.setup.data_bit_rate;
  if (plan.data_bit_rate == 0) {
    plan.data_bit_rates = with_more(usual_data_bit_rates(), wanted.data_rates);
  }
  plan.sample_point = wanted.sample_point_percent / 100;
  plan.data_sample_point = wanted.data_sample_point_percent / 100;
  plan.at_each = std::chrono::milliseconds(std::lround(wanted.seconds * 1000));
  plan.stopped = stop_asked;
  return plan;
}

// Exit status 0: frames come in; 1: not, or nobody acknowledges, or frames of CAN FD fail.
int find(Wanted& wanted) {
  const auto link = link_that_is_down(wanted.interface);
  if (!link) return fail(link.error());
  if (link->is_virtual()) {
    return fail({ErrorCode::usage, link->name + " is virtual: it has no bit rate to find"});
  }
  if (wanted.setup.data_bit_rate != 0 && !wanted.data_rates.empty()) {
    return fail({ErrorCode::usage,
                 "--data-bit-rate says that the data rate is known, --data-rate that it is to be "
                 "looked for; give one of them"});
  }
  watch_stop_signals();
  const auto search = search_rate(*link, plan_of(wanted), [](const Listening& heard) {
    std::cerr << rate_in_words(heard.bit_rate());
    if (heard.data_bit_rate() != 0) std::cerr << ", data " << rate_in_words(heard.data_bit_rate());
    std::cerr << ": " << describe_heard(heard) << '\n';
  });
  if (!search) return fail(search.error());
  if (search->stopped) {
    return fail({ErrorCode::usage, "stopped; " + link->name + " is down, as it was"});
  }
  std::cout << (wanted.json ? search_json(*search)
                            : paragraphs(explain_search(*search, wanted.interface),
                                         text_width(STDOUT_FILENO)));
  const Listening* best = search->best();
  const DataHeard data = search->data_rate().heard;
  const bool fails = data == DataHeard::errors || data == DataHeard::failing;
  return best != nullptr && judge(*best) == BusVerdict::good && !fails ? exit_good : exit_findings;
}

using Run = int (*)(Wanted&);

struct Shared {
  Wanted wanted;
  Run chosen = list;
  std::function<int()> other;  // of a verb in a file of its own
};

CommandLine add(CommandLine app, const char* name, const char* summary, Shared& shared, Run run) {
  CommandLine sub = app.add_verb(name, summary);
  sub.when_chosen([&shared, run] { shared.chosen = run; });
  if (run != list) {
    sub.add_option("INTERFACE", shared.wanted.interface, "CAN interface, such as can0").required();
  }
  return sub;
}

std::function<std::string(std::string&)> bit_rate_reader() {
  return [](std::string& text) {
    const auto rate = bit_rate_of(text);
    if (rate) text = std::to_string(*rate);
    return rate ? std::string() : expected_bit_rate(text);
  };
}

void declare_timing(CommandLine sub, Wanted& wanted, const char* data_bit_rate) {
  sub.add_option("--data-bit-rate", wanted.setup.data_bit_rate, data_bit_rate)
      .type_name("N")
      .transform(bit_rate_reader())
      .check(whole_number_between(10'000U, 20'000'000U));
  sub.add_option("--sample-point", wanted.sample_point_percent,
                 "Where in the bit the level is read, in percent; default the kernel's choice")
      .type_name("PERCENT")
      .check(number_between(50, 95));
  sub.add_option("--data-sample-point", wanted.data_sample_point_percent, "The same within FD data")
      .type_name("PERCENT")
      .check(number_between(50, 95));
}

void declare_up(CommandLine sub, Wanted& wanted) {
  sub.add_option("--bit-rate", wanted.setup.bit_rate, "Of the bus in bit/s, such as 500k")
      .type_name("N")
      .transform(bit_rate_reader())
      .check(whole_number_between(1'000U, 1'000'000U));
  declare_timing(sub, wanted, "Of CAN FD data in bit/s, such as 2M; without it, classical CAN");
  sub.add_flag("--acknowledge", wanted.setup.acknowledge,
               "Acknowledge frames (sends no data frame); else it only listens");
  sub.add_option("--restart-ms", wanted.setup.restart_ms,
                 "Restart the controller so long after a bus-off; default never")
      .type_name("MS")
      .check(whole_number_between(1U, 3'600'000U));
  sub.footer(
      "Example: a board alone with the adapter on the bench, at 500 kbit/s\n"
      "  foundling bus up can0 --bit-rate 500000 --acknowledge");
}

void declare_find(CommandLine sub, Wanted& wanted) {
  sub.add_option("--rate", wanted.rates,
                 "Try this rate (bit/s) after 500, 250, 125, 1000 and 800 kbit/s; again for more")
      .type_name("N")
      .transform(bit_rate_reader())
      .check(whole_number_between(1'000U, 1'000'000U));
  sub.add_option("--data-rate", wanted.data_rates,
                 "Try this data rate of CAN FD (bit/s) after 2, 5, 4, 1 and 8 Mbit/s; again for "
                 "more")
      .type_name("N")
      .transform(bit_rate_reader())
      .check(whole_number_between(10'000U, 20'000'000U));
  sub.add_option("--seconds", wanted.seconds, "How long to listen at each rate")
      .type_name("S")
      .check(number_between(0.1, 600))
      .capture_default_str();
  declare_timing(sub, wanted,
                 "Of CAN FD data in bit/s where it is known: listens with it at every rate");
  sub.add_flag("--json", wanted.json, "JSON instead of sentences");
  sub.footer(
      "Listens only: at a wrong rate an adapter that takes part would disturb the bus. Once the\n"
      "bit rate is known it listens for CAN FD, at one data rate after the other, if the adapter\n"
      "can. The interface is down before and after, Ctrl-C included, and set as it was.\n"
      "Exit status: 0 frames come in; 1 none do, or nobody acknowledges, or frames of CAN FD\n"
      "fail; 2 it could not listen.\n"
      "\n"
      "Example: which rate does the board speak, perhaps an unusual one?\n"
      "  foundling bus find can0 --rate 83333 --seconds 5");
}

std::function<int()> declare(CommandLine app) {
  auto shared = std::make_shared<Shared>();
  Wanted& wanted = shared->wanted;
  app.require_verb(0, 1);
  CommandLine sub =
      add(app, "list", "CAN interfaces with state, bit rate, errors and losses", *shared, list);
  sub.add_flag("--json", wanted.json, "JSON instead of lines");
  sub.footer("Example: what is plugged in\n  foundling bus list");
  declare_up(add(app, "up", "Set an interface up; it only listens unless told to acknowledge",
                 *shared, up),
             wanted);
  sub = add(app, "down", "Take an interface down", *shared, down);
  sub.footer("Example: before another bit rate\n  foundling bus down can0");
  declare_find(
      add(app, "find", "Find the bit rate by listening, and say what is wrong", *shared, find),
      wanted);
  declare_bus_silent(app, shared->other);
  app.footer(
      "Without a command it lists them.\n"
      "Setting up needs the right to configure network interfaces; an error says how to get it.\n"
      "\n"
      "Example: find the bit rate of the bus behind can0\n"
      "  foundling bus find can0");
  return [shared] { return shared->other ? shared->other() : shared->chosen(shared->wanted); };
}

}  // namespace

Command bus_command() {
  return {"bus", "CAN interfaces: list, set up, find the bit rate, say what is wrong", declare};
}

}  // namespace foundling
