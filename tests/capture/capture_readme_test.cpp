// The capture's README promises that its queries work: every one runs here.
#include <doctest/doctest.h>

#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "schemas/capture/capture_writer.h"
#include "schemas/capture/database.h"
#include "tests/must.h"
#include "tests/scratch_folder.h"

namespace foundling {
namespace {

using capture_file::Access;
using capture_file::Database;
using capture_file::Step;

std::string readme() {
  std::ifstream file(FOUNDLING_SOURCE_DIR "/schemas/capture/README.md");
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

std::vector<std::string> sql_blocks(const std::string& text) {
  std::vector<std::string> blocks;
  const std::string open = "```sql\n";
  for (std::size_t at = text.find(open); at != std::string::npos; at = text.find(open, at)) {
    at += open.size();
    const std::size_t end = text.find("```", at);
    blocks.push_back(text.substr(at, end - at));
    at = end;
  }
  return blocks;
}

void fill(const std::filesystem::path& path) {
  auto writer = must(CaptureWriter::create(path));
  SessionInfo info;
  info.started_utc_ns = 1'700'000'000'000'000'000;
  const auto session = must(writer.begin_session(info));
  for (std::uint8_t i = 0; i < 20; ++i) {
    Frame frame;
    frame.t_ns = i * std::int64_t{20'000'000};
    frame.id = i % 2 == 0 ? CanId::standard(0x1A4) : CanId::extended(0x18FEF100);
    frame.length = 8;
    frame.payload = {0x12, i};
    must(writer.add_frames(session, {&frame, 1}));
  }
  const auto current = must(writer.ensure_channel({"pack_current", "A", ChannelKind::hold}));
  const auto wrong = must(writer.add_reading(session, current, {5, 1.25, 0.01, "", 3}));
  must(writer.supersede(wrong, {5, 12.5, 0.01, ""}));
  must(writer.add_mark(session, {6, "note", "the left clip came off"}));
  must(writer.add_instrument(session, {7, "meter", "working", "", 3, 0, ""}));
  must(writer.add_gap(session, {1, 2, 0, 3, "cable pulled"}));
  must(writer.add_clock(session, {7, 1'700'000'100'000'000'000, 90'000'000'000}));
  must(writer.close());
}

TEST_CASE("every query of the README runs and finds something") {
  const ScratchFolder folder;
  fill(folder / "a.capture");
  Database database = must(Database::open(folder / "a.capture", Access::read_only));
  const auto blocks = sql_blocks(readme());
  CHECK(blocks.size() >= 8);
  for (const std::string& sql : blocks) {
    CAPTURE(sql);
    auto statement = must(database.prepare(sql, "README"));
    int rows = 0;
    Step step = statement.step();
    for (; step == Step::row; step = statement.step()) ++rows;
    CHECK(step == Step::done);
    CHECK(rows > 0);
  }
}

TEST_CASE("every table and every column is in the README") {
  const ScratchFolder folder;
  fill(folder / "a.capture");
  const std::string text = readme();
  Database database = must(Database::open(folder / "a.capture", Access::read_only));
  auto columns = must(database.prepare(
      "SELECT m.name, c.name FROM sqlite_schema AS m, pragma_table_info(m.name) AS c"
      " WHERE m.type = 'table' AND m.name NOT LIKE 'sqlite_%'",
      "columns"));
  int count = 0;
  while (columns.step() == Step::row) {
    CAPTURE(columns.text(0));
    CAPTURE(columns.text(1));
    CHECK(text.find("**" + columns.text(0) + "**") != std::string::npos);
    if (columns.text(1) != "id") CHECK(text.find('`' + columns.text(1) + '`') != std::string::npos);
    ++count;
  }
  CHECK(count > 40);
}

}  // namespace
}  // namespace foundling
