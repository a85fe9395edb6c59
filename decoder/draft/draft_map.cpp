#include "decoder/draft/draft_map.h"

#include <algorithm>
#include <cmath>
#include <tuple>
#include <utility>
#include <vector>

#include "decoder/draft/draft_signal.h"
#include "decoder/draft/fold_series.h"

namespace foundling {
namespace {

// What bits of a message are taken, and on which page.
struct Claim {
  std::string name;
  Span span;
  std::optional<Page> page;
};

const Claim* clash(const std::vector<Claim>& claims, const Span& span,
                   const std::optional<Page>& page) {
  const auto at = std::ranges::find_if(claims, [&](const Claim& claim) {
    const bool other_page =
        claim.page && page && claim.page->span == page->span && claim.page->value != page->value;
    return !other_page && claim.span.overlaps(span);
  });
  return at == claims.end() ? nullptr : &*at;
}

// Measured periods scatter in their last digits; three say what a person would write.
std::int64_t tidy_period(double seconds) {
  if (!(seconds > 0)) return 0;
  const double size = std::pow(10, std::floor(std::log10(seconds)) - 2);
  return static_cast<std::int64_t>(std::llround(std::round(seconds / size) * size * 1e9));
}

std::vector<CodeRange> ranges_of(const std::vector<std::uint64_t>& values) {
  std::vector<CodeRange> ranges;
  for (const std::uint64_t value : values) {
    if (!ranges.empty() && ranges.back().last + 1 == value) {
      ranges.back().last = value;
    } else {
      ranges.push_back({value, value});
    }
  }
  return ranges;
}

constexpr std::size_t most_ranges = 256;  // that a map's selector may list

// The better of two that want the same bits: measured before derived, strong before weak.
bool better(const Proposal* a, const Proposal* b) {
  const auto order = [](const Proposal& p) {
    const int verdict = p.verdict == Verdict::strong ? 0 : p.verdict == Verdict::ambiguous ? 1 : 2;
    return std::tuple(p.derived, p.inferred, verdict, p.chance);
  };
  return order(*a) < order(*b);
}

class MessageDraft {
 public:
  MessageDraft(const MessageSurvey& survey, const DraftSource& source) : source_(source) {
    entry_.id = survey.id;
    entry_.bus = survey.bus;
    entry_.length = survey.length;
    if (!survey.event_driven)
      entry_.period_ns = tidy_period(survey.in_bursts ? survey.mean_period_s : survey.period_s);
    for (const CopyFinding& copy : survey.copies) {
      entry_.notes.push_back("bits " + to_string(copy.second) + " always say what " +
                             to_string(copy.first) + " say");
    }
    if (survey.length_varies) entry_.notes.emplace_back("the length varies; this is the longest");
    if (survey.segmented_transport) {
      entry_.notes.emplace_back("its frames carry payloads in segments (ISO 15765-2)");
    }
  }

  void add_selector(const Span& span, const std::vector<std::uint64_t>& values) {
    if (clash(claims_, span, {}) != nullptr) return;
    const std::string number = std::to_string(entry_.selectors.size() + 1);
    const std::string name = entry_.selectors.empty() ? "page" : "page_" + number;
    std::vector<CodeRange> ranges = ranges_of(values);
    if (ranges.size() > most_ranges) ranges.clear();  // not said is every page
    entry_.selectors.push_back({name, span, std::move(ranges)});
    claims_.push_back({name, span, {}});
  }

  void add_signal(const Proposal& proposal) {
    const FieldPlace& place = proposal.place;
    std::string selector;
    if (place.page) selector = selector_named(*place.page);
    const Claim* other = clash(claims_, place.span, place.page);
    if (other != nullptr || (place.page && selector.empty())) {
      const std::string owner = other == nullptr ? "the selector" : other->name;
      entry_.notes.push_back("also proposed: " + proposal.channel + " in bits " +
                             to_string(place.span) + ", which " + owner + " has");
      return;
    }
    signals_.push_back(draft_signal(proposal, selector, source_));
    claims_.push_back({proposal.channel, place.span, place.page});
  }

  void add_checks(const MessageSurvey& survey) {
    for (const CounterFinding& counter : survey.counters) {
      if (!claim_check("a counter", counter.span)) continue;
      entry_.counters.push_back({counter.span, counter.modulus, counter.step});
    }
    for (const ChecksumFinding& found : survey.checksums) {
      if (!claim_check("a checksum (" + found.kind + ")", found.span)) continue;
      Checksum sum{found.span,      found.kind,      found.polynomial,          found.initial,
                   found.final_xor, found.reflected, found.includes_identifier, std::nullopt};
      if (found.first_byte >= 0 && found.last_byte >= found.first_byte) {
        sum.bytes = CodeRange{static_cast<std::uint64_t>(found.first_byte),
                              static_cast<std::uint64_t>(found.last_byte)};
      }
      entry_.checksums.push_back(std::move(sum));
    }
  }

  MessageEntry finish() {
    entry_.signals = fold_series(std::move(signals_));
    std::ranges::stable_sort(entry_.signals, [](const SignalEntry& a, const SignalEntry& b) {
      const auto place = [](const SignalEntry& s) {
        return std::tuple(s.page ? s.page->value.base : -1,
                          std::min(s.span.msb.byte, s.span.lsb.byte));
      };
      return place(a) < place(b);
    });
    return std::move(entry_);
  }

 private:
  std::string selector_named(const Page& page) {
    const auto find = [this, &page] {
      const auto at = std::ranges::find(entry_.selectors, page.span, &Selector::span);
      return at == entry_.selectors.end() ? std::string() : at->name;
    };
    std::string name = find();
    if (!name.empty()) return name;
    add_selector(page.span, {});
    return find();
  }

  bool claim_check(const std::string& what, const Span& span) {
    if (const Claim* other = clash(claims_, span, {})) {
      entry_.notes.push_back("also found: " + what + " in bits " + to_string(span) + ", which " +
                             other->name + " has");
      return false;
    }
    claims_.push_back({what, span, {}});
    return true;
  }

  DraftSource source_;
  MessageEntry entry_;
  std::vector<SignalEntry> signals_;
  std::vector<Claim> claims_;
};

}  // namespace

SignalMap draft_map(const Correlation& correlation, const Survey& survey,
                    const DraftSource& source) {
  std::vector<const Proposal*> chosen;
  for (const Proposal& proposal : correlation.proposals) {
    if (proposal.rank == 1) chosen.push_back(&proposal);
  }
  std::ranges::stable_sort(chosen, better);

  SignalMap map;
  map.board = source.board;
  map.bit_rate = source.bit_rate;
  map.data_bit_rate = source.data_bit_rate;
  for (const MessageSurvey& message : survey.messages) {
    MessageDraft draft(message, source);
    for (const SelectorFinding& selector : message.selectors) {
      draft.add_selector(selector.span, selector.values);
    }
    for (const Proposal* proposal : chosen) {
      if (proposal->place.id == message.id && proposal->place.bus == message.bus) {
        draft.add_signal(*proposal);
      }
    }
    draft.add_checks(message);
    map.messages.push_back(draft.finish());
  }
  return map;
}

}  // namespace foundling
