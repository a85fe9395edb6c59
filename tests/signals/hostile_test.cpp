// A megabyte made to cost as much as it can: read, described, formatted, spread out and compared,
// it takes at most a second and 200 MB.
#include <doctest/doctest.h>

#include <ctime>
#include <functional>
#include <string>
#include <vector>

#include "decoder/decode/decode.h"
#include "schemas/signals/compare.h"
#include "schemas/signals/field.h"
#include "schemas/signals/format.h"
#include "schemas/signals/merge_maps.h"
#include "schemas/signals/read.h"
#include "schemas/signals/verify.h"
#include "tests/signals/counted_memory.h"

namespace {

using namespace foundling;

constexpr std::size_t megabyte = 1'000'000;
constexpr std::size_t most_bytes = 200 * megabyte;
#ifdef __SANITIZE_ADDRESS__
constexpr double most_seconds = 5;  // the checks cost about that factor
#else
constexpr double most_seconds = 1;
#endif

using Line = std::function<std::string(int)>;

struct Hostile {
  const char* name;
  std::string start;
  Line line;  // repeated until a megabyte is full
};

Line always(const std::string& text) {
  return [text](int /*i*/) { return text; };
}

std::string text_of(const Hostile& hostile) {
  std::string text = "foundling signals 1\n" + hostile.start;
  for (int i = 0;; ++i) {
    const std::string next = hostile.line(i);
    if (text.size() + next.size() > megabyte) return text;
    text += next;
  }
}

// Each %d is the line's number.
Line numbered(const std::string& pattern) {
  return [pattern](int i) {
    std::string out = pattern;
    for (std::size_t at = 0; (at = out.find("%d", at)) != std::string::npos;) {
      out.replace(at, 2, std::to_string(i));
    }
    return out;
  };
}

const std::string paged = "message 1\nselector p bits 1.7..0.0\n";
const std::string series = paged + "series a 1..4096\non p n\nbits 2.0\n";

std::vector<Hostile> hostile_maps() {
  const std::string bytes(16'000, 'x');
  return {
      {"comments", "", always("#\n")},
      {"comments between blank lines", "", always("#\n\n")},
      {"blank lines", "", always("\n")},
      {"notes", "", always("note x\n")},
      {"one long line", "#", always("#")},
      {"long comments", "", always("# " + bytes.substr(0, 3998) + '\n')},
      {"too long comments", "", always("# " + bytes + '\n')},
      {"long words", "", always("message " + bytes + '\n')},
      {"long words like a keyword", "", always("mess" + bytes + '\n')},
      {"words like a keyword", "", always("messag\n")},
      {"unknown words", "", always("x\n")},
      {"quotes that are not closed", "", always("board \"\n")},
      {"no UTF-8", "", always("\xFF\n")},
      {"lines that belong nowhere", "", always("bits 0.0\n")},
      {"messages", "", numbered("message %d extended\n")},
      {"one message again and again", "", always("message 1\n")},
      {"signals without bits", "message 1\n", always("signal a\n")},
      {"signals in the same bits", "message 1\n", numbered("signal a%d\nbits 0.0\n")},
      {"a signal a page", paged, numbered("signal a%d\non p %d\nbits 2.0\n")},
      {"long series", paged, numbered("series a%d 1..4096\non p n\nbits 2.0\n")},
      {"refuted series", paged, numbered("series a%d 1..4096\non p n\nbits 2.0\nstatus refuted\n")},
      {"series that end outside", paged, numbered("series a%d 1..4096\non p n * 15\nbits 2.0\n")},
      {"selectors", "message 1\n", numbered("selector a%d bits 0.0\n")},
      {"selectors that are not there", paged, numbered("signal b%d\non x%d 1\nbits 2.0\n")},
      {"pages of a selector", "message 1\n",
       numbered("selector a%d bits 0.7..0.0 values " + std::string(bytes.size() / 8, '1') + '\n')},
      {"checksums in the same bits", "message 1\n", always("checksum bits 0.0 a\n")},
      {"points", "message 1\nsignal a\nbits 7.7..0.0\nvalue = table\n", numbered("point %d = 1\n")},
      {"points that stand still", "message 1\nsignal a\nbits 7.7..0.0\nvalue = table\n",
       always("point 1 = 1\n")},
      {"states", "message 1\nsignal a\nbits 7.7..0.0\n", numbered("state %d = a\n")},
      {"one state again and again", "message 1\nsignal a\nbits 0.0\n", always("state 1 = a\n")},
      {"reserved codes", "message 1\nsignal a\nbits 7.7..0.0\n", numbered("reserved %d a\n")},
      {"evidence", "message 1\nsignal a\nbits 0.0\n", numbered("seen a session %d: x\n")},
      {"evidence of a series", series, numbered("seen a session %d: x\n")},
      {"unknown units", "message 1\n",
       numbered("signal a%d\nbits 0.0\nvalue = raw Volts\nstatus refuted\n")},
      {"boards", "", always("board a\n")},
  };
}

// A series of so many members that only few lines are below it, each as long as can be.
std::string wide_series(const std::string& name, int members, const Line& line, int lines) {
  std::string text = "foundling signals 1\n" + paged + "series " + name + " 1.." +
                     std::to_string(members) + "\non p n\nbits 3.7..2.0\n";
  for (int i = 0; i < lines; ++i) text += line(i);
  return text;
}

void require_cheap(const std::string& text, const std::string& other) {
  const SignalMap before = read_signals(other).map;
  start_counting();
  const std::clock_t start = std::clock();
  {
    const SignalText read = read_signals(text);
    const std::string said = describe(read.diagnostics, "hostile", text);
    CHECK(said.size() < megabyte);
    if (read.ok()) {
      const std::string once = format(read.document);
      CHECK(read_signals(once).ok());
      CHECK(fields_of(read.map).size() <= 16'384);
      const Decoder decoder(read.map);
      CHECK(decoder.fields().size() <= 16'384);
      (void)compare_maps(before, read.map);
    }
  }
  const double seconds = static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC;
  CHECK(seconds <= most_seconds);
  CHECK(peak_bytes() <= most_bytes);
}

}  // namespace

TEST_CASE("a megabyte of hostile lines takes at most a second and 200 MB") {
  for (const Hostile& hostile : hostile_maps()) {
    CAPTURE(std::string(hostile.name));
    require_cheap(text_of(hostile), {});
  }
}

TEST_CASE("a wide series with long lines takes at most a second and 200 MB") {
  const std::string word(250, 'w');
  const auto state = [&word](const char* end) {
    return [&word, end](int i) { return "state " + std::to_string(i) + " = " + word + end + '\n'; };
  };
  require_cheap(wide_series("a", 1000, state("1"), 60), wide_series("a", 1000, state("2"), 60));
  const std::string text(3900, 't');
  const auto note = [&text](const char* end) {
    return [&text, end](int i) { return "note " + std::to_string(i) + text + end + '\n'; };
  };
  require_cheap(wide_series("a", 256, note("1"), 240), wide_series("a", 256, note("2"), 240));
  require_cheap(wide_series(word, 4000, note("1"), 12), wide_series("b", 4000, note("2"), 12));
}

namespace {

// Two megabytes of lines: the sides' own numbers stand for %s.
void require_cheap_merge(const std::string& start, const std::string& pattern, int lines) {
  const auto side = [&](const std::string& own) {
    std::string text = "foundling signals 1\n" + start;
    const Line line = numbered(pattern);
    for (int i = 0; i < lines; ++i) {
      std::string next = line(i);
      for (std::size_t at = 0; (at = next.find("%s", at)) != std::string::npos;) {
        next.replace(at, 2, own);
      }
      text += next;
    }
    SignalText read = read_signals(text);
    REQUIRE_MESSAGE(read.ok(), describe(read.diagnostics, "side", text).substr(0, 500));
    return read.document;
  };
  const Document ours = side("1");
  const Document theirs = side("2");
  const std::clock_t start_time = std::clock();
  const MergedMaps merged = merge_maps({}, ours, theirs);
  const double seconds = static_cast<double>(std::clock() - start_time) / CLOCKS_PER_SEC;
  CHECK(merged.has_conflicts());
  CHECK(is_faultless(merged.document));
  CHECK(seconds <= 2 * most_seconds);  // for two maps
}

}  // namespace

TEST_CASE("merging two maps that are nothing but conflicts takes at most a second for each") {
  require_cheap_merge("", "message %d1 extended\nsignal a%s%d\nbits 0.0\n", 8000);
  require_cheap_merge("", "message %d%s extended\nsignal a%d\nbits 0.0\n", 8000);
  require_cheap_merge("message 1 length 8\nsignal a\nbits 7.7..0.0\n", "state %d = a%s\n", 20'000);
  require_cheap_merge("message 1 length 8\nsignal a\nbits 7.7..0.0\n", "reserved %d a%s\n", 40'000);
}

TEST_CASE("one name in two messages leaves out that message's line, not the rest") {
  std::string ours = "foundling signals 1\n";
  std::string theirs = ours;
  for (int i = 0; i < 2000; ++i) {
    const std::string number = std::to_string(i);
    ours += "message " + number + "1 extended\nsignal " + (i == 77 ? "dup" : "a" + number) +
            "\nbits 0.0\n";
    theirs += "message " + number + "2 extended\nsignal " + (i == 88 ? "dup" : "b" + number) +
              "\nbits 0.0\n";
  }
  const MergedMaps merged =
      merge_maps({}, read_signals(ours).document, read_signals(theirs).document);
  REQUIRE(merged.remarks.size() == 1);
  CHECK(merged.remarks[0].text.find("signal dup") != std::string::npos);
  CHECK(is_faultless(merged.document));
  CHECK(merged.document.nodes.size() == 4000);
}
