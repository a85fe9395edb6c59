#include "tools/bus/rate_search.h"

#include "schemas/link/link_message.h"
#include "schemas/link/link_setup.h"
#include "tools/bus/listen.h"

namespace foundling {
namespace {

Result<Listening> listen_at(const CanLink& link, std::uint32_t bit_rate, const SearchPlan& plan) {
  LinkSetup setup;
  setup.bit_rate = bit_rate;
  setup.sample_point = plan.sample_point;
  setup.data_bit_rate = plan.data_bit_rate;
  if (auto up = bring_up(link, setup); !up) return up.error();
  auto heard = listen_to(link, bit_rate, plan.at_each);
  // An adapter without error frames may count errors all the same.
  if (heard && heard->faults().all() == 0) {
    if (const auto after = can_link(link.name); after && after->receive_errors.value_or(0) > 0) {
      heard->add_error_count(*after->receive_errors);
    }
  }
  if (auto down = take_down(link); !down) return down.error();
  return heard;
}

}  // namespace

std::vector<std::uint32_t> usual_bit_rates() {
  return {500'000, 250'000, 125'000, 1'000'000, 800'000};
}

Result<RateSearch> search_rate(const CanLink& link, const SearchPlan& plan,
                               const std::function<void(const Listening&)>& tell) {
  RateSearch search;
  for (const std::uint32_t bit_rate : plan.bit_rates) {
    auto heard = listen_at(link, bit_rate, plan);
    if (!heard) return heard.error();
    tell(*heard);
    search.tried.push_back(*heard);
    if (judge(*heard) == BusVerdict::good) break;
  }
  return search;
}

}  // namespace foundling
