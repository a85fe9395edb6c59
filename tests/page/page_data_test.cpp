// What goes into the page: extremes, their packing, the bits' counts and owners, the points.
#include <doctest/doctest.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <random>

#include "decoder/report/page/bit_owners.h"
#include "decoder/report/page/bit_picture.h"
#include "decoder/report/page/bus_timeline.h"
#include "decoder/report/page/extremes.h"
#include "decoder/report/page/packed.h"
#include "decoder/report/page/page_html.h"
#include "decoder/report/page/page_json.h"
#include "decoder/report/page/sanity_pass.h"
#include "decoder/report/page/signal_sheet.h"
#include "tests/page/sample_page.h"

namespace foundling::test {
namespace {

using nlohmann::json;

// The packed text read back the slow way, by the words of packed.h.
struct Bucket {
  bool filled = false;
  double low = 0, high = 0;
};

std::string bytes_of(const std::string& text) {
  const std::string digits = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string bytes;
  std::uint32_t bits = 0;
  int have = 0;
  for (const char c : text) {
    if (c == '=') break;
    bits = (bits << 6) | static_cast<std::uint32_t>(digits.find(c));
    have += 6;
    if (have < 8) continue;
    have -= 8;
    bytes += static_cast<char>((bits >> have) & 0xFF);
  }
  return bytes;
}

std::vector<Bucket> unpacked(const Packed& series, std::size_t count) {
  const std::string bytes = bytes_of(series.data);
  std::size_t at = 0;
  const auto next = [&] {
    std::uint64_t number = 0;
    for (int shift = 0;; shift += 7) {
      const auto byte = static_cast<std::uint8_t>(bytes.at(at++));
      number |= static_cast<std::uint64_t>(byte & 0x7F) << shift;
      if (byte < 0x80) return number;
    }
  };
  std::vector<Bucket> all;
  double before = 0;
  while (at < bytes.size()) {
    const std::uint64_t head = next();
    if (head == 0) {
      all.resize(all.size() + next());
      continue;
    }
    const std::uint64_t code = head - 1;
    const double half = std::floor(static_cast<double>(code) / 2);
    before += code % 2 == 0 ? half : -half - 1;
    const auto more = static_cast<double>(next());
    all.push_back(
        {true, series.base + series.step * before, series.base + series.step * (before + more)});
  }
  CHECK(all.size() == count);
  return all;
}

MessageSeries two_bytes(const std::vector<std::array<std::uint8_t, 2>>& rows) {
  MessageSeries series;
  series.id = CanId::standard(0x100);
  series.length = 2;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    series.t_ns.push_back(static_cast<std::int64_t>(i) * 1000);
    series.bytes.insert(series.bytes.end(), rows[i].begin(), rows[i].end());
  }
  return series;
}

}  // namespace

TEST_CASE("a grid covers its stretch, and what lies outside goes to its ends") {
  const Grid grid = Grid::over(1000, 2000, 7, 1);
  CHECK(grid.bucket(1000) == 0);
  CHECK(grid.bucket(2000) == grid.count - 1);
  CHECK(grid.count <= 7);
  CHECK(grid.start + grid.step * static_cast<std::int64_t>(grid.count) > 2000);
  CHECK(grid.bucket(-5) == 0);
  CHECK(grid.bucket(99999) == grid.count - 1);
  CHECK(Grid::over(5, 5, 100, 10).count == 1);
  CHECK(Grid::over(0, 999, 1000, 100).count == 10);
}

TEST_CASE("no value is lost in the extremes, however many share a bucket") {
  std::mt19937 random(11);
  std::uniform_real_distribution<double> level(-5, 5);
  Extremes extremes(10);
  std::vector<double> least(10, 1e9);
  std::vector<double> greatest(10, -1e9);
  for (int i = 0; i < 5000; ++i) {
    const std::size_t bucket = random() % 9;  // the last stays empty
    const double value = level(random);
    extremes.add(bucket, value);
    least[bucket] = std::min(least[bucket], value);
    greatest[bucket] = std::max(greatest[bucket], value);
  }
  extremes.add(3, std::nan(""));
  for (std::size_t i = 0; i < 9; ++i) {
    CHECK(extremes.low(i) == least[i]);
    CHECK(extremes.high(i) == greatest[i]);
  }
  CHECK_FALSE(extremes.has(9));
  extremes.halve();
  CHECK(extremes.size() == 5);
  CHECK(extremes.low(1) == std::min(least[2], least[3]));
  CHECK(extremes.high(4) == greatest[8]);
}

TEST_CASE("base64 is that of RFC 4648, section 10") {
  CHECK(base64("") == "");
  CHECK(base64("f") == "Zg==");
  CHECK(base64("fo") == "Zm8=");
  CHECK(base64("foo") == "Zm9v");
  CHECK(base64("foob") == "Zm9vYg==");
  CHECK(base64("fooba") == "Zm9vYmE=");
  CHECK(base64("foobar") == "Zm9vYmFy");
}

TEST_CASE("packed extremes read back, whole steps exactly and others within half a step") {
  const unsigned seed = 21;
  CAPTURE(seed);
  std::mt19937 random(seed);
  for (const double step : {0.1, 0.001, 1.0, 0.0}) {
    CAPTURE(step);
    Extremes extremes(300);
    for (int i = 0; i < 500; ++i) {
      const auto whole = static_cast<int>(random() % 70000) - 30000;
      extremes.add(random() % 300, -40 + (step > 0 ? step : 0.00073) * whole);
    }
    const Packed series = packed(extremes, -40, step);
    const std::vector<Bucket> back = unpacked(series, 300);
    const double room = step > 0 ? 1e-9 : series.step * 0.5001;
    for (std::size_t i = 0; i < 300; ++i) {
      REQUIRE(back[i].filled == extremes.has(i));
      if (!back[i].filled) continue;
      CHECK(std::abs(back[i].low - extremes.low(i)) <= room);
      CHECK(std::abs(back[i].high - extremes.high(i)) <= room);
    }
  }
}

TEST_CASE("values too far apart to be counted in steps are packed by their range") {
  Extremes extremes(3);
  extremes.add(0, 0.001);
  extremes.add(1, 1e30);
  extremes.add(2, -1e30);
  const std::vector<Bucket> back = unpacked(packed(extremes, 0, 0.001), 3);
  CHECK(back[1].high == doctest::Approx(1e30));
  CHECK(back[2].low == doctest::Approx(-1e30));
  CHECK(std::abs(back[0].low) < 2e25);
}

TEST_CASE("flips of a bit are counted within its page, ones in every frame of it") {
  // Byte 0 selects; byte 1 stands still on page 1 and counts on page 2.
  const MessageSeries message =
      two_bytes({{1, 0xF0}, {2, 0}, {1, 0xF0}, {2, 1}, {1, 0xF0}, {2, 3}});
  const MessagePictures paged = picture_bits(message, parse_span("0.7..0.0"));
  REQUIRE(paged.pages.size() == 2);
  CHECK(paged.pages[0].page == 1);
  CHECK(paged.pages[0].frames == 3);
  CHECK(paged.pages[0].bits[15].flips == 0);
  CHECK(paged.pages[0].bits[15].ones == 3);
  CHECK(paged.pages[1].bits[8].flips == 1);
  CHECK(paged.pages[1].bits[8].ones == 2);
  CHECK(paged.pages[1].bits[9].flips == 1);
  const MessagePictures whole = picture_bits(message, {});
  REQUIRE(whole.pages.size() == 1);
  CHECK(whole.pages[0].bits[15].flips == 5);
  CHECK_FALSE(whole.pages[0].page.has_value());
}

TEST_CASE("bits are counted as one by one, however many frames there are") {
  std::mt19937_64 dice(7);
  for (const std::size_t frames : {1U, 254U, 255U, 256U, 511U, 5000U}) {
    MessageSeries message;
    message.id = CanId::standard(0x1A4);
    message.length = 3;
    for (std::size_t i = 0; i < frames; ++i) {
      message.t_ns.push_back(static_cast<std::int64_t>(i) * 1'000'000);
      message.bytes.push_back(static_cast<std::uint8_t>(dice() % 3));
      message.bytes.push_back(static_cast<std::uint8_t>(dice()));
      message.bytes.push_back(0xFF);
    }
    const MessagePictures pictures = picture_bits(message, parse_span("0.1..0.0"));
    for (const BitPicture& picture : pictures.pages) {
      std::vector<BitCount> naive(24);
      std::optional<std::size_t> before;
      for (std::size_t i = 0; i < frames; ++i) {
        if (message.bytes[3 * i] != *picture.page) continue;
        for (std::size_t bit = 0; bit < 24; ++bit) {
          const auto is_one = [&](std::size_t row) {
            return ((message.bytes[3 * row + bit / 8] >> (bit % 8)) & 1) != 0;
          };
          naive[bit].ones += is_one(i) ? 1U : 0U;
          naive[bit].flips += before && is_one(i) != is_one(*before) ? 1U : 0U;
        }
        before = i;
      }
      for (std::size_t bit = 0; bit < 24; ++bit) {
        CAPTURE(bit);
        REQUIRE(picture.bits[bit].ones == naive[bit].ones);
        REQUIRE(picture.bits[bit].flips == naive[bit].flips);
      }
    }
  }
}

TEST_CASE("a selector with more values than pages can be told apart is pictured as none") {
  std::vector<std::array<std::uint8_t, 2>> rows;
  for (int i = 0; i < 300; ++i) {
    rows.push_back({static_cast<std::uint8_t>(i & 0xFF), static_cast<std::uint8_t>(i >> 8)});
  }
  const MessagePictures pictures = picture_bits(two_bytes(rows), parse_span("1.7..0.0"));
  CHECK(pictures.too_many_pages);
  CHECK(pictures.pages.size() == 1);
  const MessagePictures some = picture_bits(two_bytes(rows), parse_span("0.7..0.0"));
  CHECK(some.pages.size() == most_pages_pictured);
  CHECK(some.pages_left_out == 256 - most_pages_pictured);
}

TEST_CASE("a counter that the survey and the map both know is listed once") {
  const SamplePage sample;
  const std::vector<Field> fields = fields_of(sample.map);
  REQUIRE(sample.map.messages[0].counters.size() == 1);
  REQUIRE(sample.survey.messages[0].counters.size() == 1);
  const auto owners = owners_of(sample.survey.messages[0], sample.map, fields);
  CHECK(std::ranges::count(owners, OwnerKind::counter, &BitOwner::kind) == 1);
  CHECK(std::ranges::count(owners, OwnerKind::signal, &BitOwner::kind) == 2);
}

TEST_CASE("every frame is in one stretch of the bus's time line") {
  const SamplePage sample;
  const auto timelines = bus_timelines(sample.messages, Grid::over(0, 100'000'000'000, 37, 1));
  REQUIRE(timelines.size() == 1);
  std::uint64_t frames = 0;
  std::uint64_t bits = 0;
  for (const BusStretch& stretch : timelines[0].stretches) {
    frames += stretch.frames;
    bits += stretch.most_bits;
  }
  CHECK(frames == 1500);
  CHECK(bits == 1500 * 135);  // 8 bytes, 11-bit identifier: 135 bits at most (Davis et al. 2007)
}

TEST_CASE("the load stays level to the end of a session that ends within a stretch of time") {
  const SamplePage sample;
  PageInput input = sample.input();
  input.source.to_ns -= 450'000'000;  // the frames go on for 0.35 s of the last second
  const json bus = json::parse(page_json(input))["bus"];
  const json& rates = bus["buses"][0]["frames_a_second"];
  CHECK(rates[50].get<double>() == doctest::Approx(15));
  CHECK(rates.back().get<double>() == doctest::Approx(15).epsilon(0.5));
}

TEST_CASE("of too many points the outermost of each part of the range stay") {
  std::vector<AppliedPoint> points;
  for (int i = 0; i < 10000; ++i) points.push_back({i / 10000.0, i / 10000.0});
  points[4321].shown += 3;
  points[8765].shown -= 2;
  const auto kept = outermost(points, 100);
  CHECK(kept.size() <= 100);
  const auto error = [](const AppliedPoint& p) { return p.shown - p.applied; };
  CHECK(error(std::ranges::max(kept, {}, error)) == doctest::Approx(3));
  CHECK(error(std::ranges::min(kept, {}, error)) == doctest::Approx(-2));
  CHECK(outermost(points, 10000).size() == 10000);
}

TEST_CASE("the page's data says what was put in") {
  const SamplePage sample;
  const json data = json::parse(page_json(sample.input()));
  CHECK(data["source"]["frames"] == 1500);
  CHECK(data["bus"]["lost"]["frames"] == 17);
  CHECK(data["signals"].size() == 6);
  const json& current = data["signals"][0];
  CHECK(current["name"] == script_name);
  CHECK(current["proposal"]["verdict"] == "strong");
  CHECK(current["compared"]["points"] == 10);
  // 10.5 A shown against 10.40 .. 10.44 applied, -20 A against -20.05 .. -20.01.
  CHECK(current["compared"]["rms"].get<double>() == doctest::Approx(0.06).epsilon(0.5));
  CHECK(data["signals"][2]["compared"]["all_drawn"] == false);
  // A line separator does not show itself: it is written out.
  CHECK(data["findings"]["ambiguous"] ==
        json::array({{"\"quoted\" & 'so' \\u2028 on", closing_name}}));
  const json& picture = data["messages"][0]["pictures"][0];
  CHECK(picture["unexplained"] == 8);  // byte 4
}

TEST_CASE("the page's data says of every channel without a strong answer why, and what to do") {
  const SamplePage sample;
  const json found = json::parse(page_json(sample.input()))["findings"]["unanswered"];
  REQUIRE(found.size() == 2);
  CHECK(found[0]["channel"] == closing_name);
  CHECK(found[0]["reason"] == "moved together with " + script_name);
  CHECK(found[0]["nearest"] == "1A4 7.0, 1 of 2 levels agrees");
  CHECK(found[0]["advice"] == "switch it by itself");
  // The proposals say nothing of this one: at least it is named.
  CHECK(found[1]["channel"] == "cell_01");
  CHECK(found[1]["reason"] == "");
}

TEST_CASE("the page's data has readings that do not fit, and the strong answers without them") {
  const SamplePage sample;
  const json found = json::parse(page_json(sample.input()))["findings"];
  REQUIRE(found["unfit"].size() == 1);
  CHECK(found["unfit"][0]["words"] == "reading 97, " + script_name +
                                          " = 104.2 A at 0:20.0: ten times what the board says "
                                          "(10.5 A)");
  CHECK(found["unfit"][0]["correct"] ==
        "foundling stimulus '" + closing_name + ".capture' correct 97 10.42A --session 1");
  CHECK(found["without"] ==
        json::array({script_name + " holds without reading 97, which does not fit"}));
}

TEST_CASE("the sanity watch sees the session's frames in order of time, and skips its gaps") {
  SamplePage sample;
  const auto counter_of = [&sample] {
    const auto checks = watch_session(sample.map, sample.messages, sample.input().lost);
    const auto found = std::ranges::find(checks, SanityKind::counter, &SanityCheck::kind);
    REQUIRE(found != checks.end());
    return *found;
  };
  CHECK(counter_of().failed == 0);
  CHECK(counter_of().looked >= 990);
  const auto leave_out = [&sample](std::ptrdiff_t from, std::ptrdiff_t to) {
    MessageSeries& currents = sample.messages[0];
    currents.t_ns.erase(currents.t_ns.begin() + from, currents.t_ns.begin() + to);
    currents.bytes.erase(currents.bytes.begin() + from * 8, currents.bytes.begin() + to * 8);
  };
  leave_out(610, 617);              // inside the gap from 60 s to 63 s
  CHECK(counter_of().failed == 1);  // the gap's end came after the jump
  sample.messages = SamplePage().messages;
  leave_out(610, 631);  // as long as the gap: nothing is between its ends
  CHECK(counter_of().failed == 0);
}

TEST_CASE("with less room the steps of time get longer and the extremes stay") {
  const SamplePage sample;
  const json full = json::parse(page_json(sample.input()));
  const json small = json::parse(page_json(sample.input(), 3000));
  CHECK(small["time"]["count"].get<int>() < full["time"]["count"].get<int>() / 4);
  std::size_t bytes = 0;
  for (const json& signal : small["signals"]) {
    bytes += signal["values"]["data"].get<std::string>().size();
  }
  CHECK(bytes <= 3000);
  const json& values = small["signals"][0]["values"];
  const auto back = unpacked({values["base"], values["step"], values["data"]},
                             small["time"]["count"].get<std::size_t>());
  double least = 1e9;
  double greatest = -1e9;
  for (const Bucket& bucket : back) {
    if (!bucket.filled) continue;
    least = std::min(least, bucket.low);
    greatest = std::max(greatest, bucket.high);
  }
  CHECK(least == doctest::Approx(-20));
  CHECK(greatest == doctest::Approx(10.5));
}

TEST_CASE("nothing in a name ends the script element, and the data stays the same JSON") {
  const std::string hostile =
      R"({"a":"</script><!-- & \u003c","b":")" + quoting_name.substr(16) + "\"}";
  const std::string safe = script_safe(hostile);
  for (const char* mark : {"<", ">", "&", "\xE2\x80\xA8"}) {
    CAPTURE(mark);
    CHECK(safe.find(mark) == std::string::npos);
  }
  CHECK(json::parse(safe) == json::parse(hostile));
}

TEST_CASE("what is filled into the page is not searched for places again") {
  PageParts parts;
  parts.html = "<title>{{title}}</title>{{data}}|{{script}}";
  parts.script = "let a = 1;";
  const std::string page = page_html(parts, "{{script}} <b>", R"("{{script}}")");
  CHECK(page == R"(<title>{{script}} &lt;b&gt;</title>"{{script}}"|let a = 1;)");
}

}  // namespace foundling::test
