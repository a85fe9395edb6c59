// `foundling bench plan`, `check`, `next` and `correlate --plan` as a person types them, with bad
// input told at its place, exit status 2 and nothing written.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <random>

#include "decoder/bench/plan_text.h"
#include "tests/tools/bench_files.h"

namespace foundling {
namespace {

using nlohmann::json;

constexpr const char* head = R"(foundling plan 1
hold 10 s

channel pack_current A
  limits -60..60 A
channel pack_voltage V
  limits 70..102 V
  rest 90 V
channel coolant_level %
  limits 0..100 %
)";

constexpr const char* cautions = "A traction pack can kill and burn";

struct Change {
  std::string piece, instead, message;
};

std::string replaced(std::string text, const std::string& piece, const std::string& instead) {
  const auto at = text.find(piece);
  REQUIRE(at != std::string::npos);
  return text.replace(at, piece.size(), instead);
}

// The plan carried out on an invented board: 1A4 has current and voltage in tenths, and a drift.
struct Session {
  std::string frames = "time_s,bus,identifier,extended,payload\n";
  std::string stimulus = "time_s,channel,unit,value\n";
};

std::string payload_of(int amps, int volts, int drift) {
  char text[20];
  std::snprintf(text, sizeof text, "%04x%04x%04x", static_cast<unsigned>(amps) & 0xFFFFU,
                static_cast<unsigned>(volts) & 0xFFFFU, static_cast<unsigned>(drift) & 0xFFFFU);
  return text;
}

Session carry_out(const bench::Plan& plan) {
  Session out;
  std::mt19937 random(3);
  std::normal_distribution<double> noise(0, 0.05);
  double t = 1, sent = 0, amps = 0, volts = 90;
  const auto send_until = [&](double until) {
    for (; sent < until; sent += 0.1) {
      const auto drift = static_cast<int>(std::lround(500 + 3 * sent + 40 * noise(random)));
      out.frames += std::to_string(sent) + ",0,1A4,0," +
                    payload_of(static_cast<int>(std::lround((amps + noise(random)) * 10)),
                               static_cast<int>(std::lround((volts + noise(random)) * 10)), drift) +
                    '\n';
    }
  };
  for (const bench::Step& step : plan.steps) {
    for (const bench::Setting& setting : step.settings) {
      send_until(t);
      const std::string& name = setting.channels.front();
      if (name == "pack_current") amps = setting.value;
      if (name == "pack_voltage") volts = setting.value;
      out.stimulus += std::to_string(t) + ',' + name + ',' + bench::find_channel(plan, name)->unit +
                      ',' + std::to_string(setting.value) + '\n';
      t += 2;
    }
    t += plan.hold_of(step);
  }
  send_until(t);
  return out;
}

// A drawn plan p.plan and the session a.capture that followed it.
void play(const BenchFolder& bench) {
  put(bench.folder / "h.bench", head);
  REQUIRE(bench.run("bench plan h.bench --seed 7 --into p.plan").status == 0);
  const Session session = carry_out(bench::read_plan(get(bench.folder / "p.plan")).plan);
  put(bench.folder / "f.csv", session.frames);
  put(bench.folder / "s.csv", session.stimulus);
  const auto imported = bench.run("import --frames f.csv --stimulus s.csv a.capture");
  REQUIRE(imported.status == 0);
}

}  // namespace

TEST_CASE("a plan is drawn with its cautions, the same again by its seed, and found good") {
  const BenchFolder bench;
  put(bench.folder / "h.bench", head);
  const auto printed = bench.run("bench plan h.bench --seed 7");
  CHECK(printed.status == 0);
  CHECK(has(printed.err, cautions));
  CHECK(has(printed.out, cautions));  // above the steps as well
  CHECK(has(printed.err, "distinguishable: all channels"));
  CHECK(bench.run("bench plan h.bench --seed 7").out == printed.out);
  CHECK(bench.run("bench plan h.bench --seed 8").out != printed.out);
  CHECK(bench.run("bench plan h.bench --seed 7 --into p.plan").status == 0);
  CHECK(get(bench.folder / "p.plan") == printed.out);
  const auto checked = bench.run("bench check p.plan");
  CHECK(checked.status == 0);
  CHECK(has(checked.out, "p.plan: good\n"));
  CHECK(has(checked.out, " steps, about "));
}

TEST_CASE("what is there is written over only when asked for") {
  const BenchFolder bench;
  put(bench.folder / "h.bench", head);
  put(bench.folder / "p.plan", "mine");
  const auto kept = bench.run("bench plan h.bench --into p.plan");
  CHECK(kept.status == 2);
  CHECK(has(kept.err, "p.plan: is there already; --again writes over it"));
  CHECK(get(bench.folder / "p.plan") == "mine");
  CHECK(bench.run("bench plan h.bench --into p.plan --again").status == 0);
  CHECK(bench.run("bench plan p.plan --into p.plan").status == 2);
}

TEST_CASE("a plan in contradiction is told at its place, with status 2 and nothing written") {
  const std::string good = std::string(head) + "step 1\n  set pack_current = 20 A\n";
  for (const Change& one : {
           Change{"-60..60 A", "-60..60 V", "x.plan:5:18: error: "},
           Change{"= 20 A", "= 20 V", "x.plan:12:22: error: pack_current is in A, found V"},
           Change{"= 20 A", "= 61 A",
                  "x.plan:12:22: error: 61 A is beyond the limits of pack_current, -60..60"},
           Change{"70..102 V", "102..70 V", "x.plan:7:10: error: expected limits that go upwards"},
           Change{"rest 90 V", "rest 69 V", "x.plan:6:9: error: pack_voltage rests at 69 V"},
           Change{"step 1", "step 3", "x.plan:11:6: error: expected step 1, found step 3"},
           Change{"hold 10 s", "hold 1 s",
                  "x.plan:11:6: error: a hold of 1 s is shorter than pack_current takes"},
           Change{"set pack_current", "set pack_curent",
                  "x.plan:12:7: error: expected a channel of this plan, found 'pack_curent'"},
           Change{"channel coolant_level", "channel pack_voltage",
                  "x.plan:9:9: error: a channel 'pack_voltage' twice"},
           Change{"foundling plan 1", "foundling plan 2", "x.plan:1:"},
       }) {
    CAPTURE(one.instead);
    const BenchFolder bench;
    put(bench.folder / "x.plan", replaced(good, one.piece, one.instead));
    put(bench.folder / "a.capture", "");
    for (const char* words : {"bench check x.plan", "bench plan x.plan --again --into new.plan",
                              "bench run x.plan a.capture", "correlate a.capture --plan x.plan"}) {
      CAPTURE(words);
      const auto ran = bench.run(words);
      CHECK(ran.status == 2);
      CHECK(ran.out.empty());
      if (std::string(words).substr(0, 5) == "bench") {
        CHECK_MESSAGE(has(ran.err, one.message), ran.err);
      }
    }
    CHECK_FALSE(std::filesystem::exists(bench.folder / "new.plan"));
  }
}

TEST_CASE("too little time, and what is no plan, are told with status 2") {
  const BenchFolder bench;
  put(bench.folder / "h.bench", replaced(head, "hold 10 s", "hold 10 s\nat-most 30 s"));
  const auto short_of = bench.run("bench plan h.bench --into p.plan");
  CHECK(short_of.status == 2);
  CHECK(has(short_of.err, "not even 5 levels of everything fit into 30 s; that takes "));
  CHECK_FALSE(std::filesystem::exists(bench.folder / "p.plan"));
  CHECK(has(bench.run("bench check nothing.plan").err, "nothing.plan"));
  CHECK(bench.run("bench check nothing.plan").status == 2);
  put(bench.folder / "e.plan", "foundling plan 1\n");
  const auto empty = bench.run("bench plan e.plan");
  CHECK(empty.status == 2);
  CHECK(has(empty.err, "e.plan: the plan has no channel to move"));
  CHECK(bench.run("bench plan h.bench --sed 3").status == 2);
}

TEST_CASE("with the plan, the chance figure comes from drawing it anew, and says so") {
  const BenchFolder bench;
  play(bench);
  const auto planned = bench.run("correlate a.capture --plan p.plan --json");
  REQUIRE(planned.status == 0);
  const json found = json::parse(planned.out);
  CHECK(found["plan"]["name"] == "p.plan");
  CHECK(found["plan"]["seed"] == 7);
  int strong = 0;
  for (const json& p : found["proposals"]) {
    if (p["derived"] == true) continue;
    CHECK(p["channel"] != "coolant_level");  // the board does not send it
    CHECK(p["chance_by_plan"] == true);
    CHECK(p["chance"] <= 0.01);
    strong += p["verdict"] == "strong" ? 1 : 0;
  }
  CHECK(strong == 2);
  CHECK(has(bench.run("correlate a.capture --plan p.plan").out, "p.plan (seed 7) 199 times"));
  const auto unplanned = bench.run("correlate a.capture");
  CHECK(has(unplanned.out, "permuting what was"));
  const json without = json::parse(bench.run("correlate a.capture --json").out);
  CHECK(without["plan"].is_null());
  CHECK(without["proposals"][0]["chance_by_plan"] == false);
}

TEST_CASE("a plan that the session did not follow gives no chance figure") {
  const BenchFolder bench;
  play(bench);
  const std::string plan = get(bench.folder / "p.plan");
  const auto parsed = bench::read_plan(plan).plan;
  const auto other = bench.run("bench plan h.bench --seed 8 --into other.plan");
  REQUIRE(other.status == 0);
  const auto ran = bench.run("correlate a.capture --plan other.plan");
  CHECK(ran.status == 2);
  CHECK(ran.out.empty());
  CHECK(has(ran.err, "other.plan: the readings do not follow the plan step by step"));
  bench::Plan changed = parsed;
  changed.steps.back().settings.front().value += 1;
  put(bench.folder / "edited.plan", bench::write_plan(changed));
  const auto by_hand = bench.run("correlate a.capture --plan edited.plan");
  CHECK(by_hand.status == 2);
  CHECK(has(by_hand.err, "edited.plan: the plan was edited after it was drawn"));
}

TEST_CASE("after a search the next plan has what is open, keeps to the limits, and says the rest") {
  const BenchFolder bench;
  play(bench);
  const auto next = bench.run("bench next a.capture --bench h.bench");
  // Both signals are found, but their top bits stayed still, and nothing answers to the level.
  CAPTURE(next.err);
  CHECK(has(next.err, "remains: coolant_level: nothing on the bus responds to it"));
  CHECK(has(next.err, "untested: only values"));
  CHECK(next.status == 1);
  CHECK(has(next.err, "nothing is open that a plan could settle"));
  CHECK(next.out.empty());
  put(bench.folder / "wide.bench", replaced(head, "limits 70..102 V", "limits 40..102 V"));
  const auto wide = bench.run("bench next a.capture --bench wide.bench");
  CHECK(wide.status == 0);
  CHECK(has(wide.err, cautions));
  CHECK(has(wide.out, "channel pack_voltage V\n  limits 40..102 V\n"));
  CHECK_FALSE(has(wide.out, "channel pack_current"));
  put(bench.folder / "next.plan", wide.out);
  CHECK(bench.run("bench check next.plan").status == 0);
  CHECK(bench.run("bench next nothing.capture").status == 2);
  CHECK(bench.run("bench next a.capture --session 9").status == 2);
}

}  // namespace foundling
