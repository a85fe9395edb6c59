#include "daemon/config_file.h"

#include <doctest/doctest.h>

namespace foundling {
namespace {

constexpr const char* whole = R"(# the orchard tractor on the bench
interfaces = ["can0", "can1"]
capture = "/var/lib/foundling/tractor.capture"
pack = "orchard tractor"
board = "28 cells"
note = "shunt leads on the bench source"
bit-rate = 500000
data-bit-rate = 2_000_000
socket-buffer-kib = 4096
restart-after-s = 0.5
disk-reserve-mib = 128

[roll]
size-mib = 512
hours = 24
keep = 30
)";

std::vector<std::string> faults(std::string_view text) {
  Options options;
  return read_config(text, "x.toml", options);
}

}  // namespace

TEST_CASE("every setting is read") {
  Options options;
  CHECK(read_config(whole, "x.toml", options).empty());
  CHECK(options.interfaces == std::vector<std::string>{"can0", "can1"});
  CHECK(options.capture == "/var/lib/foundling/tractor.capture");
  CHECK(options.pack == "orchard tractor");
  CHECK(options.board == "28 cells");
  CHECK(options.note == "shunt leads on the bench source");
  CHECK(options.bit_rate == 500'000);
  CHECK(options.data_bit_rate == 2'000'000);
  CHECK(options.socket_buffer_kib == 4096);
  CHECK(options.restart_after_s == 0.5);
  CHECK(options.disk_reserve_mib == 128);
  const FilePolicy policy = options.file_policy();
  CHECK(policy.roll_bytes == 512ULL * 1024 * 1024);
  CHECK(policy.roll_after_ns == 24 * 3600 * 1'000'000'000LL);
  CHECK(policy.keep == 30);
  CHECK(policy.reserve_bytes == 128ULL * 1024 * 1024);
}

TEST_CASE("a fault is told with its line and column") {
  CHECK(faults("capture = \"a\"\nbitrate = 5\n") ==
        std::vector<std::string>{
            "x.toml:2:1: error: unknown setting \"bitrate\"; did you mean \"bit-rate\"?"});
  CHECK(faults("bit-rate = \"fast\"\n") ==
        std::vector<std::string>{"x.toml:1:12: error: bit-rate: expected a whole number"});
  CHECK(faults("bit-rate = 2.5\n") ==
        std::vector<std::string>{"x.toml:1:12: error: bit-rate: expected a whole number"});
  CHECK(faults("\n\n  bit-rate = 0\n") ==
        std::vector<std::string>{"x.toml:3:14: error: bit-rate: expected 1 to 1000000, found 0"});
  CHECK(faults("capture = 7\n") ==
        std::vector<std::string>{"x.toml:1:11: error: capture: expected a text in quotes"});
  CHECK(faults("interfaces = \"can0\"\n").size() == 1);
  CHECK(faults("interfaces = [\"can0\", 3]\n").size() == 1);
  CHECK(faults("restart-after-s = nan\n").size() == 1);
}

TEST_CASE("several faults are told at once, in a table too") {
  CHECK(faults("bit-rate = 0\nloud = true\n[roll]\nkeep = 0\nsizes = 3\n").size() == 4);
}

TEST_CASE("faults are told in the order of the file") {
  CHECK(faults("note = 1\nloud = true\nboard = 2\n") ==
        std::vector<std::string>{"x.toml:1:8: error: note: expected a text in quotes",
                                 "x.toml:2:1: error: unknown setting \"loud\"",
                                 "x.toml:3:9: error: board: expected a text in quotes"});
}

TEST_CASE("a setting that slipped below [roll] is told where it belongs") {
  CHECK(faults("[roll]\nhours = 1\nbit-rate = 500000\n") ==
        std::vector<std::string>{"x.toml:3:1: error: unknown setting \"roll.bit-rate\"; "
                                 "\"bit-rate\" belongs above [roll]"});
}

TEST_CASE("what the settings do not say together is told with its place") {
  CHECK(faults("[roll]\nkeep = 3\n") ==
        std::vector<std::string>{"x.toml:2:8: error: roll.keep: needs roll.size-mib or roll.hours "
                                 "too: only rolled files are ever removed"});
  CHECK(faults("interfaces = [\"can0\", \"can0\"]\n") ==
        std::vector<std::string>{"x.toml:1:14: error: interfaces: can0 is named twice"});
}

TEST_CASE("what is no TOML is told with its place") {
  const auto found = faults("capture = \"a\nbit-rate = 5\n");
  REQUIRE(found.size() == 1);
  CHECK(found[0].find("x.toml:1:") == 0);
}

TEST_CASE("a configuration that never ends is refused") {
  Options options;
  CHECK(read_config_file("/dev/zero", options) ==
        std::vector<std::string>{"/dev/zero: error: is longer than 1 MiB: no configuration"});
  CHECK(read_config_file("/no/such.toml", options) ==
        std::vector<std::string>{"/no/such.toml: error: cannot read: No such file or directory"});
}

TEST_CASE("hostile texts end in faults, not in a crash") {
  for (const char* text :
       {"[", "[[roll]]", "roll = 3", "roll = []", "a.b.c = 1", "= 3", "\xff\xfe", "capture = '''",
        "interfaces = [[]]", "bit-rate = 1e400", "bit-rate = 9999999999999999999999"}) {
    CAPTURE(text);
    CHECK_FALSE(faults(text).empty());
  }
}

}  // namespace foundling
