#include "tools/bus/rate_search.h"

#include <algorithm>

#include "schemas/link/link_message.h"
#include "schemas/link/link_setup.h"
#include "tools/bus/listen.h"

namespace foundling {
namespace {

class Search {
 public:
  Search(const SearchPlan& plan, const ListenAt& listen) : plan_(plan), listen_(listen) {}

  Result<RateSearch> run() {
    for (const std::uint32_t bit_rate : plan_.bit_rates) {
      if (auto done = listen(bit_rate, plan_.data_bit_rate); !done) return done.error();
      if (found_.stopped || heard_good()) break;
    }
    if (auto done = look_for_fd(); !done) return done.error();
    return found_;
  }

 private:
  [[nodiscard]] bool heard_good() const {
    return !found_.tried.empty() && judge(found_.tried.back()) == BusVerdict::good;
  }

  Result<void> listen(std::uint32_t bit_rate, std::uint32_t data_bit_rate) {
    auto heard = listen_(bit_rate, data_bit_rate);
    found_.stopped = plan_.stopped();
    if (!heard) return heard.error();
    if (*heard) {
      found_.tried.push_back(**heard);
    } else {
      found_.refused.push_back(data_bit_rate);
    }
    return {};
  }

  // The rest of a bus at a known rate; all rates where none is known, for a controller in its
  // classical mode may pass over FD frames without an error. Where that leaves silence, the first
  // pair of rates is listened to: at a wrong one there are errors.
  Result<void> look_for_fd() {
    if (plan_.data_bit_rates.empty() || found_.stopped) return {};
    if (const Listening* best = found_.best()) {
      // The board repeats one classical frame until somebody acknowledges it.
      if (judge(*best) == BusVerdict::not_acknowledged) return {};
      return data_rates(best->bit_rate());
    }
    for (const std::uint32_t bit_rate : plan_.bit_rates) {
      if (auto done = data_rates(bit_rate); !done) return done;
      if (found_.stopped || found_.best() != nullptr) return {};
      if (found_.tried.back().data_bit_rate() == 0) return {};  // the adapter offers none
      if (all_silent()) return {};
    }
    return {};
  }

  [[nodiscard]] bool all_silent() const {
    return std::ranges::all_of(
        found_.tried, [](const Listening& heard) { return judge(heard) == BusVerdict::silent; });
  }

  // Until frames that switch come in without loss; where nothing fails and nothing speaks FD the
  // other rates have nothing to add.
  Result<void> data_rates(std::uint32_t bit_rate) {
    for (const std::uint32_t data_bit_rate : plan_.data_bit_rates) {
      if (data_bit_rate < bit_rate) continue;  // ISO 11898-1: not slower than the rest of the frame
      const std::size_t before = found_.tried.size();
      if (auto done = listen(bit_rate, data_bit_rate); !done || found_.stopped) return done;
      if (found_.tried.size() == before) continue;
      const DataHeard heard = judge_data(found_.tried.back());
      if (heard == DataHeard::nothing || heard == DataHeard::right_rate ||
          heard == DataHeard::not_switched) {
        return {};
      }
    }
    return {};
  }

  const SearchPlan& plan_;
  const ListenAt& listen_;
  RateSearch found_;
};

Result<std::optional<Listening>> listen_at(const CanLink& link, std::uint32_t bit_rate,
                                           std::uint32_t data_bit_rate, const SearchPlan& plan) {
  LinkSetup setup;
  setup.bit_rate = bit_rate;
  setup.sample_point = plan.sample_point;
  setup.data_bit_rate = data_bit_rate;
  setup.data_sample_point = plan.data_sample_point;
  if (auto up = bring_up(link, setup); !up) {
    const bool on_trial = data_bit_rate != 0 && plan.data_bit_rate == 0;
    if (on_trial && up.error().code == ErrorCode::usage) return std::optional<Listening>{};
    return up.error();
  }
  auto heard = listen_to(link, Listening(bit_rate, data_bit_rate), plan.at_each, plan.stopped);
  // An adapter without error frames may count errors all the same.
  if (heard && heard->faults().all() == 0) {
    if (const auto after = can_link(link.name); after && after->receive_errors.value_or(0) > 0) {
      heard->add_error_count(*after->receive_errors);
    }
  }
  if (auto down = take_down(link); !down) return down.error();
  if (!heard) return heard.error();
  return std::optional<Listening>(*heard);
}

}  // namespace

std::vector<std::uint32_t> usual_bit_rates() {
  return {500'000, 250'000, 125'000, 1'000'000, 800'000};
}

std::vector<std::uint32_t> usual_data_bit_rates() {
  return {2'000'000, 5'000'000, 4'000'000, 1'000'000, 8'000'000};
}

Result<RateSearch> search_rates(const SearchPlan& plan, const ListenAt& listen) {
  return Search(plan, listen).run();
}

Result<RateSearch> search_rate(const CanLink& link, const SearchPlan& plan,
                               const std::function<void(const Listening&)>& tell) {
  auto search = search_rates(plan, [&](std::uint32_t bit_rate, std::uint32_t data_bit_rate) {
    auto heard = listen_at(link, bit_rate, data_bit_rate, plan);
    if (heard && *heard) tell(**heard);
    return heard;
  });
  const auto back = put_back(link);
  if (search && !back) return back.error();
  return search;
}

}  // namespace foundling
