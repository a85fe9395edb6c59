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
