#include "tools/bus/data_rate.h"

#include <doctest/doctest.h>
#include <linux/can/error.h>

#include "tests/bus/synthesised_stream.h"
#include "tools/bus/bus_json.h"
#include "tools/bus/rate_search.h"

namespace foundling {
namespace {

using synthesised::FdBus;

bool says(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

SearchPlan usual_plan() {
  SearchPlan plan;
  plan.bit_rates = usual_bit_rates();
  plan.data_bit_rates = usual_data_bit_rates();
  return plan;
}

RateSearch search_on(const FdBus& bus, const SearchPlan& plan = usual_plan()) {
  auto found = search_rates(plan, [&](std::uint32_t bit_rate, std::uint32_t data_bit_rate) {
    return Result<std::optional<Listening>>(bus.listen(bit_rate, data_bit_rate));
  });
  REQUIRE(found);
  return *found;
}

std::string explained(const FdBus& bus) { return explain_search(search_on(bus), "can0"); }

std::size_t listenings_with_fd(const RateSearch& search) {
  std::size_t count = 0;
  for (const Listening& heard : search.tried) count += heard.data_bit_rate() != 0 ? 1U : 0U;
  return count;
}

}  // namespace

TEST_CASE("synthesised: the data rate is found at each of the usual rates, whatever is beside it") {
  for (const std::uint32_t bit_rate : {500'000U, 250'000U, 1'000'000U}) {
    for (const std::uint32_t data : usual_data_bit_rates()) {
      for (const int classical : {0, 1, 50}) {
        for (const bool tolerant : {false, true}) {
          CAPTURE(bit_rate);
          CAPTURE(data);
          CAPTURE(classical);
          CAPTURE(tolerant);
          const RateSearch found = search_on(
              {.bit_rate = bit_rate, .data = data, .classical = classical, .tolerant = tolerant});
          REQUIRE(found.best() != nullptr);
          CHECK(found.best()->bit_rate() == bit_rate);
          const DataRate rate = found.data_rate();
          CHECK(rate.heard == DataHeard::right_rate);
          REQUIRE(rate.best != nullptr);
          CHECK(rate.best->data_bit_rate() == data);
        }
      }
    }
  }
}

TEST_CASE("synthesised: the command that is offered sets both rates") {
  const std::string text = explained({.bit_rate = 250'000, .data = 5'000'000});
  CHECK(says(text, "The bit rate is 250 kbit/s."));
  CHECK(says(text, "its data goes at 5 Mbit/s"));
  CHECK(says(text, "foundling bus up can0 --bit-rate 250000 --data-bit-rate 5000000\n"));
}

TEST_CASE(
    "synthesised: a board that speaks FD and is alone is told both rates and to acknowledge") {
  const std::string text = explained({.data = 5'000'000, .alone = true});
  CHECK(says(text, "nobody acknowledges"));
  CHECK(says(text, "--bit-rate 500000 --data-bit-rate 5000000 --acknowledge"));
}

TEST_CASE("synthesised: a classical bus costs one more listening, and is called classical") {
  const FdBus bus{.data = 0, .classical = 100};
  const RateSearch found = search_on(bus);
  CHECK(listenings_with_fd(found) == 1);
  CHECK(found.data_rate().heard == DataHeard::nothing);
  CHECK(found.data_rate().best == nullptr);
  CHECK(says(explained(bus), "classical CAN, as far as that goes"));
  CHECK_FALSE(says(explained(bus), "--data-bit-rate"));
}

TEST_CASE("synthesised: an error or two from switching on are no frames of CAN FD") {
  Listening heard(500'000, 2'000'000);
  for (int i = 0; i < 2; ++i) {
    heard.add(synthesised::error_frame(CAN_ERR_PROT, CAN_ERR_PROT_STUFF, CAN_ERR_PROT_LOC_DATA));
  }
  CHECK(judge_data(heard) == DataHeard::nothing);
}

TEST_CASE("synthesised: an unusual data rate is not guessed, and the next step is named") {
  const FdBus bus{.data = 3'000'000, .classical = 40};
  const RateSearch found = search_on(bus);
  CHECK(found.data_rate().heard == DataHeard::errors);
  CHECK(found.data_rate().best == nullptr);
  const std::string text = explained(bus);
  CHECK(says(text, "Frames of CAN FD are there"));
  CHECK(says(text, "2 Mbit/s, 5 Mbit/s, 4 Mbit/s, 1 Mbit/s and 8 Mbit/s"));
  CHECK(says(text, "--data-rate"));
  SearchPlan plan = usual_plan();
  plan.data_bit_rates.push_back(3'000'000);
  CHECK(search_on(bus, plan).data_rate().heard == DataHeard::right_rate);
}

TEST_CASE("synthesised: frames of FD that never switch prove no data rate") {
  const FdBus bus{.data = 2'000'000, .switches = false};
  const RateSearch found = search_on(bus);
  CHECK(found.data_rate().heard == DataHeard::not_switched);
  CHECK(says(explained(bus), "no frame switches"));
  CHECK(says(search_json(found), "\"data_bit_rate\": null"));
}

TEST_CASE("synthesised: an adapter without FD is told so where the bus needs it, and only there") {
  const FdBus fd{.data = 2'000'000, .classical = 40, .adapter_has_fd = false};
  CHECK(says(explained(fd), "offers no CAN FD"));
  CHECK(search_on(fd).data_rate().listenings == 0);
  const FdBus classical{.data = 0, .classical = 40, .adapter_has_fd = false};
  CHECK_FALSE(says(explained(classical), "FD"));
}

TEST_CASE("synthesised: silence is listened to once more with FD, and stays silence") {
  const FdBus bus{.data = 0};
  const RateSearch found = search_on(bus);
  CHECK(listenings_with_fd(found) == 1);
  CHECK(found.best() == nullptr);
  CHECK(says(explained(bus), "Nothing is heard at any of these rates."));
}

TEST_CASE("no data rate below the bit rate is tried") {
  SearchPlan plan = usual_plan();
  plan.data_bit_rates = {500'000, 2'000'000};
  const RateSearch found = search_on({.bit_rate = 1'000'000}, plan);
  CHECK(listenings_with_fd(found) == 1);
  CHECK(found.data_rate().heard == DataHeard::right_rate);
}

TEST_CASE("a search that is told to stop listens no further") {
  SearchPlan plan = usual_plan();
  int listened = 0;
  plan.stopped = [&] { return listened == 2; };
  const auto found = search_rates(plan, [&](std::uint32_t bit_rate, std::uint32_t data) {
    ++listened;
    return Result<std::optional<Listening>>(Listening(bit_rate, data));
  });
  REQUIRE(found);
  CHECK(found->stopped);
  CHECK(listened == 2);
}

TEST_CASE("a data rate that was given is used from the start, and none is looked for") {
  SearchPlan plan = usual_plan();
  plan.data_bit_rates.clear();
  plan.data_bit_rate = 5'000'000;
  const RateSearch found = search_on({.bit_rate = 250'000, .data = 5'000'000}, plan);
  CHECK(found.tried.size() == 2);
  CHECK(found.data_rate().heard == DataHeard::right_rate);
}

}  // namespace foundling
