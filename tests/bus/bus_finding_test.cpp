#include "tools/bus/bus_finding.h"

#include <doctest/doctest.h>
#include <linux/can/error.h>

#include "tests/bus/synthesised_stream.h"
#include "tools/bus/bus_words.h"

namespace foundling {
namespace {

using synthesised::data_frame;
using synthesised::error_frame;

constexpr std::int64_t ms = 1'000'000;

bool says(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

// Several messages, each with its own period and contents.
Listening ordinary_traffic(std::uint32_t bit_rate, int frames) {
  Listening heard(bit_rate);
  for (int i = 0; i < frames; ++i) {
    heard.add(data_frame(i * ms, 0x100 + static_cast<std::uint32_t>(i % 5),
                         static_cast<std::uint8_t>(i)));
  }
  return heard;
}

}  // namespace

TEST_CASE("synthesised: at a wrong rate stuff, form and CRC errors are called a wrong rate") {
  for (unsigned seed = 1; seed <= 50; ++seed) {
    CAPTURE(seed);
    CHECK(judge(synthesised::wrong_rate(250'000, 40, seed)) == BusVerdict::wrong_rate);
    CHECK(judge(synthesised::wrong_rate(250'000, 1, seed)) == BusVerdict::wrong_rate);
  }
}

TEST_CASE("synthesised: a board that nobody acknowledges is told apart from a wrong rate") {
  using synthesised::nobody_acknowledges;
  // From power-up on, only its errors, and only the endless repetition.
  CHECK(judge(nobody_acknowledges(500'000, true, 1000)) == BusVerdict::not_acknowledged);
  CHECK(judge(nobody_acknowledges(500'000, true, 0)) == BusVerdict::not_acknowledged);
  CHECK(judge(nobody_acknowledges(500'000, false, 1000)) == BusVerdict::not_acknowledged);
  CHECK(judge(nobody_acknowledges(125'000, false, 20)) == BusVerdict::not_acknowledged);
}

TEST_CASE("synthesised: a lone steady message is no endless repetition") {
  Listening heard(500'000);
  for (int i = 0; i < 100; ++i) heard.add(data_frame(i * 10 * ms, 0x1A4, 7));
  CHECK_FALSE(heard.repeats_one_frame());
  CHECK(judge(heard) == BusVerdict::good);
}

TEST_CASE("synthesised: a bus saturated with different frames is not taken for a repeated one") {
  Listening heard(500'000);
  for (int i = 0; i < 1000; ++i) {
    heard.add(data_frame(i * ms / 4, 0x1A4, static_cast<std::uint8_t>(i)));
  }
  CHECK(judge(heard) == BusVerdict::good);
}

TEST_CASE("synthesised: ordinary traffic is good with an error at the start, noisy with many") {
  Listening heard = ordinary_traffic(250'000, 200);
  CHECK(judge(heard) == BusVerdict::good);
  heard.add(error_frame(CAN_ERR_PROT, CAN_ERR_PROT_STUFF, CAN_ERR_PROT_LOC_DATA));
  CHECK(judge(heard) == BusVerdict::good);
  for (int i = 0; i < 40; ++i) {
    heard.add(error_frame(CAN_ERR_PROT, CAN_ERR_PROT_BIT1, CAN_ERR_PROT_LOC_DATA));
  }
  CHECK(judge(heard) == BusVerdict::noisy);
}

TEST_CASE("synthesised: form errors at a reserved bit are frames of CAN FD") {
  Listening heard(500'000);
  for (int i = 0; i < 20; ++i) {
    heard.add(error_frame(CAN_ERR_PROT, CAN_ERR_PROT_FORM, CAN_ERR_PROT_LOC_RES0));
  }
  CHECK(judge(heard) == BusVerdict::fd_frames);
}

TEST_CASE("synthesised: errors that the adapter does not describe are not guessed about") {
  Listening heard(500'000);
  for (int i = 0; i < 20; ++i) heard.add(error_frame(CAN_ERR_BUSERROR));
  CHECK(judge(heard) == BusVerdict::unspecified_errors);
}

TEST_CASE("synthesised: changes of the controller's state are no faults, so the bus is silent") {
  Listening heard(500'000);
  heard.add(error_frame(CAN_ERR_CRTL));
  heard.add(error_frame(CAN_ERR_RESTARTED));
  CHECK(judge(heard) == BusVerdict::silent);
}

TEST_CASE("the search takes the rate that lets frames through, and says how to record") {
  RateSearch search;
  search.tried = {synthesised::wrong_rate(500'000, 60, 1), ordinary_traffic(250'000, 50)};
  REQUIRE(search.best() != nullptr);
  CHECK(search.best()->bit_rate() == 250'000);
  const std::string text = explain_search(search, "can0");
  CHECK(says(text, "The bit rate is 250 kbit/s"));
  CHECK(says(text, "foundling bus up can0 --bit-rate 250000"));
  CHECK_FALSE(says(text, "--acknowledge"));
}

TEST_CASE("the search offers to acknowledge where nobody does, at the right rate only") {
  RateSearch search;
  search.tried = {synthesised::wrong_rate(500'000, 60, 1),
                  synthesised::nobody_acknowledges(250'000, true, 400),
                  synthesised::wrong_rate(125'000, 60, 2)};
  REQUIRE(search.best() != nullptr);
  CHECK(search.best()->bit_rate() == 250'000);
  const std::string text = explain_search(search, "can0");
  CHECK(says(text, "nobody acknowledges"));
  CHECK(says(text, "--bit-rate 250000 --acknowledge"));
}

TEST_CASE("silence at every rate gets a list of what to check, power first") {
  RateSearch search;
  search.tried = {Listening(500'000), Listening(250'000)};
  CHECK(search.best() == nullptr);
  const std::string text = explain_search(search, "can0");
  const std::size_t power = text.find("powered"), awake = text.find("awake"),
                    pair = text.find("right pair"), swapped = text.find("Swap them"),
                    ends = text.find("60 ohm");
  REQUIRE(ends != std::string::npos);
  CHECK(power < awake);
  CHECK(awake < pair);
  CHECK(pair < swapped);
  CHECK(swapped < ends);
}

TEST_CASE("traffic that fits no rate is not called silence") {
  RateSearch search;
  search.tried = {synthesised::wrong_rate(500'000, 60, 1), synthesised::wrong_rate(250'000, 9, 2)};
  CHECK(search.best() == nullptr);
  CHECK(says(explain_search(search, "can0"), "none of these rates fits"));
}

}  // namespace foundling
