#include "tests/house/include_rules.h"

#include <doctest/doctest.h>

#include <set>

#include "tests/house/source_tree.h"

namespace foundling::house {

TEST_CASE("every include of every source is one that the dependency table allows") {
  std::size_t read = 0;
  for (const std::string& file : sources()) {
    for (const SourceLine& line : lines_of(file)) {
      const auto wrong = violation(file, line.text);
      ++read;
      if (wrong) FAIL_CHECK(file << ":" << line.number << ": " << *wrong);
    }
  }
  CHECK(read > 500);  // else the tree was not found
}

TEST_CASE("the daemon and the decoder meet only in the capture file") {
  CHECK(violation("daemon/main.cpp", "#include \"decoder/analysis/survey.h\""));
  CHECK(violation("daemon/main.cpp", "#include \"schemas/signals/signal_map.h\""));
  CHECK(violation("decoder/decode/decode.cpp", "#include \"schemas/capture/capture_reader.h\""));
  CHECK(violation("decoder/decode/decode.cpp", "#include \"daemon/clock.h\""));
  CHECK_FALSE(violation("daemon/main.cpp", "#include \"schemas/capture/capture_writer.h\""));
}

TEST_CASE("only the capture file's folder knows the database library") {
  CHECK_FALSE(violation("schemas/capture/database.cpp", "#include <sqlite3.h>"));
  for (const char* file : {"tools/import.cpp", "daemon/main.cpp", "decoder/report/text.cpp"}) {
    CAPTURE(file);
    CHECK(violation(file, "#include <sqlite3.h>"));
    CHECK(violation(file, "#  include <SQLiteCpp/SQLiteCpp.h>"));
  }
}

TEST_CASE("the analysis reads no file and no clock") {
  CHECK(violation("decoder/analysis/search.cpp", "#include <fstream>"));
  CHECK(violation("decoder/analysis/search.cpp", "#include <chrono>"));
  CHECK(violation("decoder/analysis/search.cpp", "#include <unistd.h>"));
  CHECK_FALSE(violation("decoder/analysis/search.cpp", "#include <Eigen/Dense>"));
  CHECK_FALSE(violation("decoder/analysis/search.cpp", "#include <vector>"));
}

TEST_CASE("subcommands leave the command line's library to its front: ten seconds a file") {
  const std::set<std::string> few{"tools/command_line.cpp",  // the front
                                  "tools/command_tree.cpp", "tools/help_page.h", "tools/main.cpp",
                                  "tools/usage_error.cpp"};
  for (const std::string& file : sources()) {
    if (file.rfind("tools/", 0) != 0 || few.contains(file)) continue;
    for (const SourceLine& line : lines_of(file)) {
      if (line.text.find("#include <CLI/") != std::string::npos)
        FAIL_CHECK(file << ":" << line.number << ": include tools/command_line.h instead");
    }
  }
}

TEST_CASE("a line that is not an include breaks no rule") {
  CHECK_FALSE(violation("daemon/main.cpp", "// see decoder/analysis/survey.h"));
  CHECK_FALSE(violation("daemon/main.cpp", "#pragma once"));
  CHECK_FALSE(violation("daemon/main.cpp", ""));
}

}  // namespace foundling::house
