// Every map under tests/golden/signals against the messages it should bring, whole: places, carets,
// suggestions. tests/golden/signals/refresh.sh writes the expectation of a named map anew.
#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "schemas/signals/read.h"

namespace {

std::string contents(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  REQUIRE_MESSAGE(file.good(), path.string());
  return {std::istreambuf_iterator<char>(file), {}};
}

std::vector<std::filesystem::path> maps() {
  std::vector<std::filesystem::path> all;
  const auto folder = std::filesystem::path(FOUNDLING_SOURCE_DIR) / "tests" / "golden" / "signals";
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    if (entry.path().extension() == ".signals") all.push_back(entry.path());
  }
  std::ranges::sort(all);
  return all;
}

}  // namespace

TEST_CASE("every faulty map brings exactly the messages written down for it") {
  CHECK(maps().size() >= 60);
  for (const auto& path : maps()) {
    CAPTURE(path.filename().string());
    const std::string text = contents(path);
    std::filesystem::path expected = path;
    expected.replace_extension(".expected");
    const foundling::SignalText read = foundling::read_signals(text);
    CHECK(describe(read.diagnostics, path.filename().string(), text) == contents(expected));
  }
}

TEST_CASE("a map with so many warnings that its rest is not looked at is no good map") {
  std::string text = "foundling signals 1\n";
  for (int message = 1; message <= 2; ++message) {
    text += "message " + std::to_string(message) + " length 64\n";
    for (int bit = 0; bit < 512; ++bit) {
      text += "  checksum bits " + std::to_string(bit / 8) + '.' + std::to_string(bit % 8) + " a\n";
    }
  }
  const std::string beyond = "message 3 length 1\n  signal a\n    bits 7.0\n";
  const foundling::SignalText read = foundling::read_signals(text + beyond);
  CHECK_FALSE(read.ok());
  CHECK(read.diagnostics.back().message == "expected fewer than 1000 warnings, found more");
}
