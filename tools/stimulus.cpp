// `foundling stimulus`: what was applied on the bench, written into a capture while it is recorded.
#include "tools/stimulus.h"

#include <iostream>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "schemas/values/meter_specification.h"
#include "tools/command_line.h"
#include "tools/exchange/report_error.h"
#include "tools/exchange/sensor_words.h"
#include "tools/stimulus_verbs.h"

namespace foundling {
namespace {

int complain(const std::string& message) {
  return report_error("stimulus", {ErrorCode::usage, message});
}

struct Typed {
  std::vector<std::string> words;
  std::optional<double> uncertainty;
  std::string kind, sensor, meter;
  StimulusOrder order;
};

Result<void> read_meter(Typed& typed) {
  if (!typed.sensor.empty()) {
    auto sensor = sensor_of_words(typed.sensor);
    if (!sensor) return Error{sensor.error().code, "--sensor: " + sensor.error().message};
    typed.order.sensor = std::move(sensor).value();
  }
  if (!typed.meter.empty()) {
    auto meter = parse_meter_specification(typed.meter);
    if (!meter) return Error{meter.error().code, "--meter: " + meter.error().message};
    typed.order.meter = std::move(meter).value();
  }
  return {};
}

int run(Typed& typed) {
  auto& words = typed.words;
  // The verb may come before the capture: both read naturally.
  if (words.size() > 1 && is_stimulus_verb(words[0]) && !is_stimulus_verb(words[1])) {
    std::swap(words[0], words[1]);
  }
  if (words.size() < 2)
    return complain("expected a capture and one of set, mark, list, import, correct");
  StimulusOrder& order = typed.order;
  order.capture = words[0];
  order.uncertainty = typed.uncertainty;
  if (typed.kind == "hold") order.kind = ChannelKind::hold;
  if (typed.kind == "sample") order.kind = ChannelKind::sample;
  if (const auto read = read_meter(typed); !read) return report_error("stimulus", read.error());
  const std::vector<std::string> rest(words.begin() + 2, words.end());
  const auto status = run_stimulus_verb(words[1], rest, order);
  if (!status) return report_error("stimulus", status.error());
  return exit_good;
}

void declare_options(CommandLine app, Typed& typed) {
  app.add_option("WORDS", typed.words, "The capture, what to do, and on what: see below")
      .type_name("CAPTURE VERB")
      .required();
  app.add_option("--uncertainty", typed.uncertainty,
                 "How well the value is known: standard uncertainty, in the unit of the value")
      .type_name("U");
  app.add_option("--meter", typed.meter,
                 "The same from the meter's data sheet: \"0.05% + 2 digits\", \"35 ppm + 5 ppm of "
                 "range\", \"1 %, k = 2\"; a limit counts as rectangular, / sqrt(3)")
      .type_name("TEXT");
  app.add_option("--range", typed.order.range,
                 "The meter's range, where its specification needs it")
      .type_name("R");
  app.add_option("--resolution", typed.order.resolution,
                 "What its last digit is worth; else the last digit of VALUE as typed")
      .type_name("R");
  app.add_option("--sensor", typed.sensor,
                 "VALUE is what the meter shows of a sensor: \"shunt 100 A / 75 mV ± 0.5 %\", "
                 "\"thermistor b 3435 K r 10 kohm\", \"thermistor abc A B C\" (Steinhart-Hart), "
                 "\"thermistor table FILE.csv\" (celsius,ohm), \"pt100 class B\"")
      .type_name("TEXT");
  app.add_option("--kind", typed.kind,
                 "hold: true until the next reading (the default); sample: a moment of a moving "
                 "quantity")
      .type_name("KIND")
      .check(one_of({"hold", "sample"}));
  app.add_option("--at", typed.order.at,
                 "When it was applied, in seconds since the session's start; else now")
      .type_name("SECONDS");
  app.add_option("--offset", typed.order.offset,
                 "import: added to every time of the file, where its clock differs")
      .type_name("SECONDS");
  app.add_option("--session", typed.order.session, "Which session; else the last one")
      .type_name("N");
  app.add_flag("--new", typed.order.is_new,
               "The channel, or the word of a state, is really new; else a name close to one that "
               "is there is asked about, and refused where nobody can be asked");
  app.add_flag("--withdraw", typed.order.withdraw, "correct: the reading never was");
  app.add_flag("--all", typed.order.all, "list: superseded readings too");
  app.add_flag("--json", typed.order.json, "list: as JSON");
}

std::function<int()> declare(CommandLine app) {
  auto typed = std::make_shared<Typed>();
  declare_options(app, *typed);
  app.footer(
      "What can be done:\n"
      "  CAPTURE set CHANNEL VALUE [UNIT]     applied now: 12.5A, 12.5 A, closed\n"
      "  CAPTURE mark WORDS                   a note at this moment\n"
      "  CAPTURE correct NUMBER VALUE [UNIT]  reading NUMBER was wrong; the old one is\n"
      "                                       kept. Also long after the recording\n"
      "  CAPTURE correct mNUMBER WORDS        the same for a mark\n"
      "  CAPTURE list                         readings and marks with their numbers\n"
      "  CAPTURE import FILE.csv              from time_s,channel,unit,value, on the\n"
      "                                       session's clock; uncertainty, kind and\n"
      "                                       earliest_s (since when it may have been\n"
      "                                       true, where it was typed late) if wanted\n"
      "Units: V mV uV, A mA, W kW, Wh kWh, Ah mAh, degC K, ohm mohm kohm Mohm, %, Pa kPa bar, Hz "
      "rpm,\n"
      "l/min, s ms, state; one of the same quantity is converted, any other is kept as it is\n"
      "\n"
      "A traction pack can kill and burn: bench work is for licensed or trained people, under the\n"
      "codes of the place, with current-limited supplies and the high-voltage path open.\n"
      "\n"
      "Examples: the supply drives 12.5 A, known to 20 mA; the meter shows 12.50 mV on the shunt;\n"
      "the decade stands at 27.28 kohm where a thermistor was\n"
      "  foundling stimulus tractor.capture set pack_current 12.5A --uncertainty 0.02\n"
      "  foundling stimulus tractor.capture set pack_current 12.50mV \\\n"
      "    --sensor \"shunt 100 A / 75 mV ± 0.5 %\" --meter \"0.05% + 2 digits\"\n"
      "  foundling stimulus tractor.capture set temp_1 27.28kohm \\\n"
      "    --sensor \"thermistor table 103at.csv\" --uncertainty 0.03");
  return [typed] { return run(*typed); };
}

}  // namespace

Command stimulus_command() {
  return {"stimulus",
          "Write what is applied on the bench into a running capture; mark; list; correct",
          declare};
}

}  // namespace foundling
