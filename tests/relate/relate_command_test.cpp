// `foundling relate` on captures that this test makes.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdio>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "schemas/signals/field.h"
#include "schemas/signals/read.h"
#include "schemas/signals/write.h"
#include "tests/house/program.h"
#include "tests/relate/related_board.h"
#include "tests/report/json_schema.h"
#include "tests/scratch_folder.h"

namespace foundling::relate {
namespace {

using house::Ran;
using house::run_foundling;
using nlohmann::json;

std::string read_all(const std::filesystem::path& path) {
  std::ifstream file(path);
  return {std::istreambuf_iterator<char>(file), {}};
}

struct Row {
  std::int64_t t_ns;
  std::string text;
};

// The board's frames and readings as a capture; `readings` false leaves the readings out.
std::string capture_of(const ScratchFolder& folder, const RelatedBoard& board,
                       const std::string& name, bool readings) {
  std::vector<Row> rows;
  for (const MessageSeries& message : board.messages) {
    for (std::size_t i = 0; i < message.size(); ++i) {
      std::array<char, 80> text{};
      int length = std::snprintf(text.data(), text.size(), "%.6f,0,%03X,0,",
                                 static_cast<double>(message.t_ns[i]) * 1e-9, message.id.number());
      for (const std::uint8_t byte : message.row(i)) {
        length += std::snprintf(text.data() + length,
                                text.size() - static_cast<std::size_t>(length), "%02X", byte);
      }
      rows.push_back({message.t_ns[i], text.data()});
    }
  }
  std::ranges::stable_sort(rows, {}, &Row::t_ns);
  std::ofstream frames(folder / (name + ".csv"));
  frames << "time_s,bus,identifier,extended,payload\n";
  for (const Row& row : rows) frames << row.text << '\n';
  frames.close();
  std::ofstream stimulus(folder / (name + "-stimulus.csv"));
  stimulus << "time_s,channel,unit,value,uncertainty,kind\n";
  for (const Reading& reading : board.channels.front().readings) {
    stimulus << static_cast<double>(reading.t_ns) * 1e-9 << ",pack_voltage,V," << reading.value
             << ",0.005,sample\n";
  }
  stimulus.close();
  const std::string capture = (folder / (name + ".capture")).string();
  std::string line = "import --frames " + (folder / (name + ".csv")).string() + ' ';
  if (readings) line += "--stimulus " + (folder / (name + "-stimulus.csv")).string() + ' ';
  const Ran ran = run_foundling(line + capture);
  INFO(ran.err);
  REQUIRE(ran.status == 0);
  return capture;
}

// One pack for all cases: making captures is most of the work.
struct Bench {
  ScratchFolder folder;
  RelatedBoard board{21, {.cells = 6, .seconds = 150}};
  std::string with_readings = capture_of(folder, board, "a", true);
  std::string without = capture_of(folder, board, "b", false);
  std::string unrelated = capture_of(
      folder, RelatedBoard(22, {.has_sum = false, .cells = 6, .seconds = 60}), "c", true);
};

Bench& bench() {
  static Bench one;
  return one;
}

}  // namespace

TEST_CASE("relate writes every cell to scale, marked by relation, into a map that is good") {
  const std::string map = (bench().folder / "new.signals").string();
  const Ran ran = run_foundling("relate " + bench().with_readings + " --into " + map);
  INFO(ran.err);
  CHECK(ran.status == 0);
  CHECK(ran.out.find("sum or mean of 6  strong") != std::string::npos);
  const SignalText read = read_signals(read_all(map));
  REQUIRE(read.ok());
  std::size_t cells = 0;
  for (const foundling::Field& field : fields_of(read.map)) {
    const SignalEntry& entry = read.map.messages[field.message].signals[field.entry];
    CHECK(entry.seen.front().text.find("by relation") != std::string::npos);
    CHECK(entry.status == Status::proposed);
    if (!field.name.starts_with("cell_")) continue;
    ++cells;
    CHECK(entry.scale == doctest::Approx(bench().board.scale).epsilon(0.005));
  }
  CHECK(cells == 6);
}

TEST_CASE("the same again changes nothing, and what a stimulus said stays as it is") {
  const std::string map = (bench().folder / "again.signals").string();
  REQUIRE(run_foundling("relate " + bench().with_readings + " --into " + map).status == 0);
  const std::string once = read_all(map);
  REQUIRE(run_foundling("relate " + bench().with_readings + " --into " + map).status == 0);
  CHECK(read_all(map) == once);

  const std::string known = (bench().folder / "known.signals").string();
  const std::string span = to_string(bench().board.cells.front().span);
  std::ofstream(known) << "foundling signals 1\n\nmessage 300 every 50 ms length 8\n"
                          "  signal third_cell\n    bits "
                       << span
                       << "\n    value = raw * 0.00102 V\n    status proposed\n"
                          "    seen x.capture session 1: strong, scale 0.00102\n";
  REQUIRE(run_foundling("relate " + bench().with_readings + " --into " + known).status == 0);
  const std::string merged = read_all(known);
  CHECK(merged.find("signal third_cell\n    bits " + span + "\n    value = raw * 0.00102 V") !=
        std::string::npos);
  CHECK(read_signals(merged).ok());
  CHECK(merged.find("cell_02") != std::string::npos);
}

// What the board says, but for one cell's scale and the total's.
std::string map_of(const RelatedBoard& board, double of_third, double of_total) {
  SignalMap map;
  const auto add = [&](const CellPlace& place, const std::string& name, double scale) {
    auto message = std::ranges::find(map.messages, place.id, &MessageEntry::id);
    if (message == map.messages.end()) {
      map.messages.push_back({});
      message = map.messages.end() - 1;
      message->id = place.id;
      message->length = 8;
    }
    SignalEntry entry;
    entry.name = name;
    entry.span = place.span;
    entry.scale = scale;
    entry.unit = "V";
    message->signals.push_back(entry);
  };
  for (std::size_t i = 0; i < board.cells.size(); ++i) {
    add(board.cells[i], "cell_" + std::to_string(i + 1), board.scale * (i == 2 ? of_third : 1));
  }
  add(board.total, "pack_voltage", board.total_scale * of_total);
  return write_signals(map);
}

TEST_CASE("a map that the sum contradicts is told which signal is off") {
  const std::string map = (bench().folder / "checked.signals").string();
  const auto check = [&](const std::string& text) {
    std::ofstream(map) << text;
    return run_foundling("relate " + bench().without + " --map " + map);
  };
  const Ran good = check(map_of(bench().board, 1, 1));
  INFO(good.out, good.err);
  CHECK(good.status == 0);
  CHECK(good.out.find("checked.signals against the sum: 6 members in the map, 0 not; nothing") !=
        std::string::npos);
  const Ran cell = check(map_of(bench().board, 2, 1));
  INFO(cell.out);
  CHECK(cell.status == 1);
  CHECK(cell.out.find("cell_3: a step is 0.002 V in the map, that of the others 0.001 V") !=
        std::string::npos);
  const Ran total = check(map_of(bench().board, 1, 10));
  INFO(total.out);
  CHECK(total.status == 1);
  CHECK(total.out.find("1 contradiction:") != std::string::npos);
  CHECK(total.out.find("pack_voltage: a step is 0.1 V in the map") != std::string::npos);
  std::string shifted = map_of(bench().board, 1, 1);
  const std::string line = "value = raw * 0.01 V";
  REQUIRE(shifted.find(line) != std::string::npos);
  shifted.replace(shifted.find(line), line.size(), "value = raw * 0.01 + 5 V");
  const Ran offset = check(shifted);
  INFO(offset.out);
  CHECK(offset.status == 1);
  CHECK(offset.out.find("members add up to") != std::string::npos);
  CHECK(run_foundling("relate " + bench().without + " --map " + map + ".none").status == 2);
}

TEST_CASE(
    "a voltage behind a switch and a limit are told, kept by the JSON, and put into the map") {
  const ScratchFolder& folder = bench().folder;
  const std::string capture = capture_of(
      folder, RelatedBoard(1, {.cells = 6, .seconds = 180, .switched = true}), "d", true);
  const std::string map = (folder / "switched.signals").string();
  const Ran ran = run_foundling("relate " + capture + " --into " + map);
  INFO(ran.out);
  CHECK(ran.status == 0);
  CHECK(ran.out.find("equal at times") != std::string::npos);
  CHECK(ran.out.find("elsewhere while it is not") != std::string::npos);
  CHECK(ran.out.find("set while 420 ") != std::string::npos);
  const std::string text = read_all(map);
  INFO(text);
  CHECK(read_signals(text).ok());
  CHECK(text.find("by relation, equals pack_voltage while bit ") != std::string::npos);
  CHECK(text.find("limit_1") != std::string::npos);
  const json found = json::parse(run_foundling("relate --json " + capture).out);
  CHECK(test::schema_faults(test::project_schema("relations"), found) ==
        std::vector<std::string>{});
  std::string strong;
  for (const json& one : found["relations"]) {
    const auto kind = one["kind"].get<std::string>();
    if (one["verdict"] == "strong" && (kind == "gated" || kind == "threshold"))
      strong += kind + ' ';
  }
  CHECK(strong == "gated threshold ");
}

TEST_CASE("without readings nothing is written, and what is open is said") {
  const std::string map = (bench().folder / "none.signals").string();
  const Ran ran = run_foundling("relate " + bench().without + " --into " + map);
  CHECK(ran.status == 0);
  CHECK(ran.out.find("one scale that all 6") != std::string::npos);
  CHECK(ran.err.find("was not written: without a scale") != std::string::npos);
  CHECK_FALSE(std::filesystem::exists(map));
}

TEST_CASE("the JSON keeps to its schema, with and without relations") {
  const Ran found = run_foundling("relate --json " + bench().with_readings);
  REQUIRE(found.status == 0);
  const json one = json::parse(found.out);
  CHECK(test::schema_faults(test::project_schema("relations"), one) == std::vector<std::string>{});
  CHECK(one["relations"][0]["members"].size() == 6);
  CHECK(one["scale"]["channel"] == "pack_voltage");
  CHECK(one["scale"]["ucum"] == "V");
  const Ran none = run_foundling("relate --json " + bench().unrelated);
  CHECK(none.status == 1);
  const json two = json::parse(none.out);
  CHECK(test::schema_faults(test::project_schema("relations"), two) == std::vector<std::string>{});
  CHECK(two["scale"].is_null());
  CHECK_FALSE(two["advice"].empty());
}

TEST_CASE("where no relation is found it is said what was looked at and what to do next") {
  const Ran ran = run_foundling("relate " + bench().unrelated);
  CHECK(ran.status == 1);
  CHECK(ran.out.find("fields that moved") != std::string::npos);
  CHECK(ran.out.find("let single cells") != std::string::npos);
}

TEST_CASE("the invented board's power is the product of its current and voltage") {
  const Ran ran =
      run_foundling("relate --json " FOUNDLING_SOURCE_DIR "/captures_demo/tractor-1.capture");
  CHECK(ran.status == 0);
  const json found = json::parse(ran.out);
  CHECK(test::schema_faults(test::project_schema("relations"), found) ==
        std::vector<std::string>{});
  std::string strong;
  for (const json& one : found["relations"]) {
    if (one["verdict"] != "strong") continue;
    strong += one["kind"].get<std::string>() + ' ' + one["field"]["span"].get<std::string>();
    for (const json& member : one["members"]) strong += ' ' + member["span"].get<std::string>();
    CHECK(one["factor"].get<double>() == doctest::Approx(0.001).epsilon(0.01));
  }
  // As captures_demo/tractor.signals has them: 0.1 A and 0.1 V a step make 10 W.
  CHECK(strong == "product 4.7..5.0 0.7..1.0 2.7..3.0");
}

TEST_CASE("what cannot be read or written into gets one message, exit 2, and changes nothing") {
  const std::string broken = (bench().folder / "broken.signals").string();
  std::ofstream(broken) << "foundling signals 1\nmessage\n";
  const std::string before = read_all(broken);
  for (const std::string& wrong :
       {std::string("relate /nowhere/x.capture"),
        "relate " + bench().with_readings + " --session 9", "relate " + broken,
        "relate " + bench().with_readings + " --into /nowhere/x.signals",
        "relate " + bench().with_readings + " --into " + broken}) {
    const Ran ran = run_foundling(wrong);
    CAPTURE(wrong);
    CHECK(ran.status == 2);
    CHECK(ran.out.empty());
    CHECK_FALSE(ran.err.empty());
  }
  CHECK(read_all(broken) == before);
}

}  // namespace foundling::relate
