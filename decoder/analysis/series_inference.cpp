#include "decoder/analysis/series_inference.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <tuple>

#include "decoder/analysis/claims.h"
#include "decoder/analysis/reserved.h"
#include "decoder/analysis/series_layout.h"
#include "decoder/analysis/series_name.h"
#include "decoder/analysis/series_sum.h"
#include "decoder/analysis/series_values.h"

namespace foundling {
namespace {

constexpr std::int64_t most_members = 1024;
constexpr double told_apart = 0.1;  // share of all codes that the window may cover, see may_extend

struct Family {  // tested members that agree in all but place
  NumberedName name;
  std::vector<TestedMember> members;  // by number
};

std::vector<Family> families_of(std::span<const Proposal> proposals) {
  using Key = std::tuple<std::string, std::string, std::string, int, double, double, int>;
  std::map<Key, Family> families;
  for (const Proposal& p : proposals) {
    if (p.derived || p.rank != 1 || !p.states.empty() || p.verdict != Verdict::strong) continue;
    const ByteOrder order = p.place.span.order();
    for (const NumberedName& name : numbered_names(p.channel)) {
      const Key key{name.before,
                    name.after,
                    p.unit,
                    static_cast<int>(coding_of(p)),
                    p.scale,
                    p.offset,
                    static_cast<int>(order)};
      Family& family = families[key];
      if (family.members.empty()) family.name = name;
      family.name.digits = std::max(family.name.digits, name.digits);
      family.members.push_back({name.number, &p});
    }
  }
  std::vector<Family> out;
  for (auto& [key, family] : families) {
    if (family.members.size() < 2) continue;
    std::sort(family.members.begin(), family.members.end(),
              [](const TestedMember& a, const TestedMember& b) { return a.number < b.number; });
    out.push_back(std::move(family));
  }
  return out;
}

std::optional<std::size_t> stream_at(std::span<const Stream> streams, const FieldPlace& place) {
  for (std::size_t s = 0; s < streams.size(); ++s) {
    if (streams[s].bus == place.bus && streams[s].id == place.id && streams[s].page == place.page) {
      return s;
    }
  }
  return {};
}

class Inference {
 public:
  Inference(std::span<const MessageSeries> messages, std::span<const Stream> streams,
            std::span<const ChannelSeries> channels, std::span<const Proposal> proposals,
            std::int64_t end_ns, const Family& family)
      : messages_(messages),
        streams_(streams),
        channels_(channels),
        proposals_(proposals),
        end_ns_(end_ns),
        family_(family),
        like_(like_values()) {}

  std::vector<Proposal> run() {
    std::vector<Run> runs;
    std::size_t longest = 0;
    for (const SeriesLayout& layout : possible_layouts(family_.members, streams_)) {
      if (auto run = follow(layout)) {
        longest = std::max(longest, run->members.size());
        runs.push_back(std::move(*run));
      }
    }
    // A layout that misses a tenth of what another finds is not in doubt with it.
    std::erase_if(runs, [&](const Run& r) { return r.members.size() * 10 < longest * 9; });
    if (!runs.empty()) return propose(agreed(runs), runs.front().layout.stride);
    Neighbourly between = between_neighbours(family_.members, streams_);
    std::erase_if(between.places,
                  [this](const auto& member) { return !believable(member.second); });
    return propose(between.places, between.stride);
  }

 private:
  using Members = std::map<std::int64_t, SeriesLayout::Place>;
  struct Run {
    SeriesLayout layout;
    Members members;
  };

  LikeValues like_values() const {
    LikeValues like;
    for (const TestedMember& m : family_.members) {
      const FieldPlace& place = m.proposal->place;
      const auto stream = stream_at(streams_, place);
      if (!stream) continue;
      take_in(like, numbers_of(streams_[*stream], place.span, coding_of(*m.proposal)));
    }
    return like;
  }

  // Beyond the tested members only where a stranger would hardly read alike by accident.
  bool may_extend(int width) const {
    if (family_.members.front().proposal->is_float) return true;
    return window_high(like_) - window_low(like_) <= told_apart * std::ldexp(1.0, width);
  }

  bool is_tested(std::int64_t number) const {
    return std::any_of(family_.members.begin(), family_.members.end(),
                       [&](const TestedMember& m) { return m.number == number; });
  }

  bool believable(const SeriesLayout::Place& place) {
    const auto key = std::pair(place.stream, place.span);
    const auto known = judged_.find(key);
    if (known != judged_.end()) return known->second;
    const Stream& stream = streams_[place.stream];
    const FieldPlace field = stream.place(place.span);
    const bool taken = std::any_of(proposals_.begin(), proposals_.end(), [&](const Proposal& p) {
      return p.rank == 1 && share_bits(p.place, field);
    });
    const Coding coding = coding_of(*family_.members.front().proposal);
    const bool good = !taken && reads_alike(stream, place.span, coding, like_);
    judged_[key] = good;
    return good;
  }

  // The members from the least tested one outwards; nothing if the layout does not hold between the
  // tested ones.
  std::optional<Run> follow(const SeriesLayout& layout) {
    const std::int64_t first = family_.members.front().number;
    const std::int64_t last = family_.members.back().number;
    Run run{layout, {}};
    std::int64_t wrong = 0;
    for (std::int64_t n = first; n <= last; ++n) {
      const auto place = layout.at(n, streams_);
      const bool good = place && (is_tested(n) || believable(*place));
      if (good) run.members[n] = *place;
      if (!good) ++wrong;
      if (wrong * 20 > last - first + 1) return {};
    }
    if (!may_extend(layout.width)) return run;
    for (const int step : {-1, 1}) {
      std::int64_t n = step < 0 ? first : last;
      while (n + step >= 0 && std::abs(n - first) < most_members) {
        n += step;
        const auto place = layout.at(n, streams_);
        if (!place || !believable(*place)) break;
        run.members[n] = *place;
      }
    }
    return run;
  }

  static Members agreed(const std::vector<Run>& runs) {
    Members members = runs.front().members;
    for (const Run& run : runs) {
      std::erase_if(members, [&](const auto& member) {
        const auto other = run.members.find(member.first);
        return other == run.members.end() || other->second.stream != member.second.stream ||
               other->second.span != member.second.span;
      });
    }
    return members;
  }

  const ChannelSeries* channel_named(const std::string& name) const {
    for (const ChannelSeries& c : channels_) {
      if (c.channel.name == name) return &c;
    }
    return nullptr;
  }

  // A channel of that name that was moved and has no proposal, or another one, is not inferred.
  bool is_open(const std::string& name) const {
    const bool proposed = std::any_of(proposals_.begin(), proposals_.end(),
                                      [&](const Proposal& p) { return p.channel == name; });
    const ChannelSeries* channel = channel_named(name);
    return !proposed && (channel == nullptr || count_levels(*channel) < 2);
  }

  std::vector<Proposal> propose(const Members& members, int stride) const {
    if (members.empty()) return {};
    const std::string note = note_of(members, stride);
    std::vector<Proposal> out;
    const Proposal& like = *family_.members[family_.members.size() / 2].proposal;
    for (const auto& [number, place] : members) {
      const std::string name = family_.name.with(number);
      if (is_tested(number) || !is_open(name)) continue;
      const Stream& stream = streams_[place.stream];
      Proposal p = like;
      p.channel = name;
      p.place = stream.place(place.span);
      p.reserved = reserved_codes(messages_[stream.message], p.place, coding_of(like));
      p.levels = 0;
      p.chance = 1;
      p.untested_high_bits = still_top(stream, place.span);
      p.verdict = Verdict::weak;
      p.same_as.clear();
      p.inferred = true;
      p.note = note;
      out.push_back(std::move(p));
    }
    return out;
  }

  static int still_top(const Stream& stream, const Span& span) {
    int still = 0;
    while (still < span.width() &&
           !stream.bits.moves(bit_index(span.position(span.width() - 1 - still)))) {
      ++still;
    }
    return still;
  }

  std::string note_of(const Members& members, int stride) const {
    std::string note = "continues ";
    for (const TestedMember& m : family_.members) {
      if (&m != &family_.members.front()) note += ", ";
      note += m.proposal->channel;
    }
    note += " (" + std::to_string(family_.members.size()) + " tested), " + std::to_string(stride) +
            " bits apart";
    // The sum is that of a whole row: places between neighbours are none.
    if (!members.contains(family_.members.front().number)) return note;
    std::vector<SummedField> fields;
    for (const auto& [number, place] : members) fields.push_back({place.stream, place.span});
    const SumTest sum =
        test_sum(streams_, fields, *family_.members.front().proposal, channels_, end_ns_);
    return sum.words.empty() ? note : note + "; " + sum.words;
  }

  std::span<const MessageSeries> messages_;
  std::span<const Stream> streams_;
  std::span<const ChannelSeries> channels_;
  std::span<const Proposal> proposals_;
  std::int64_t end_ns_;
  const Family& family_;
  LikeValues like_;
  std::map<std::pair<std::size_t, Span>, bool> judged_;
};

}  // namespace

std::vector<Proposal> infer_series(std::span<const MessageSeries> messages,
                                   std::span<const Stream> streams,
                                   std::span<const ChannelSeries> channels,
                                   std::span<const Proposal> proposals, std::int64_t end_ns) {
  std::vector<Proposal> out;
  std::set<std::string> named;
  for (const Family& family : families_of(proposals)) {
    Inference inference(messages, streams, channels, proposals, end_ns, family);
    for (Proposal& p : inference.run()) {
      if (named.insert(p.channel).second) out.push_back(std::move(p));
    }
  }
  return out;
}

}  // namespace foundling
