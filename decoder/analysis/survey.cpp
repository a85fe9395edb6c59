#include "decoder/analysis/survey.h"

#include <algorithm>
#include <set>
#include <tuple>

#include "decoder/analysis/in_parallel.h"
#include "decoder/analysis/survey_blank.h"
#include "decoder/analysis/survey_checksums.h"
#include "decoder/analysis/survey_constants.h"
#include "decoder/analysis/survey_copies.h"
#include "decoder/analysis/survey_counters.h"
#include "decoder/analysis/survey_rows.h"
#include "decoder/analysis/survey_selectors.h"
#include "decoder/analysis/survey_timing.h"
#include "decoder/transport/conversation.h"
#include "decoder/transport/payloads.h"
#include "schemas/values/payload_id.h"

namespace foundling {
namespace {

constexpr std::size_t most_rows = 262'144;

template <typename Finding>
void drop_overlapping(std::vector<Finding>& findings, const Span& span) {
  std::erase_if(findings, [&](const Finding& f) { return f.span.overlaps(span); });
}

std::vector<Span> groups_of(const MessageSurvey& result) {
  std::vector<Span> groups;
  for (const CounterFinding& counter : result.counters) {
    if (counter.span.width() <= 8) groups.push_back(counter.span);
  }
  return groups;
}

void find_fields(const SurveyRows& rows, MessageSurvey& result) {
  CounterSearch counters(rows);
  CounterSurvey counted = counters.find();
  result.counters = std::move(counted.counters);
  result.copies = survey_copies(rows);
  result.checksums = survey_checksums(rows, result.id, groups_of(result), result.copies);
  BitMask checked{};
  for (const ChecksumFinding& c : result.checksums) set_span(checked, c.span);
  if (!result.checksums.empty()) {  // a checksum's bits beside it made some counter wider, or worse
    counted = counters.find(checked);
    result.counters = std::move(counted.counters);
  }
  BitMask owned = checked;
  for (const CounterFinding& c : result.counters) set_span(owned, c.span);
  for (const Span& clock : counted.clocks) set_span(owned, clock);
  std::vector<Span> taken = counted.clocks;
  for (const ChecksumFinding& c : result.checksums) taken.push_back(c.span);
  const auto selector = survey_selector(rows, result.counters, taken, owned);
  if (!selector) return;
  result.selectors.push_back(*selector);
  drop_overlapping(result.counters, selector->span);
  const SurveyRows by_page = ordered_by(rows, selector->span);
  // Bits that count from page to page and stand still within each may be the pages' own values, if
  // the pages are too few to rule out chance.
  CounterSearch counters_by_page(by_page);
  const Toggles& within = counters_by_page.rates();
  std::erase_if(result.counters, [&](const CounterFinding& c) {
    const std::size_t chance_bits =
        (selector->values.size() - 1) * static_cast<std::size_t>(c.span.width());
    return chance_bits < 20 && within.rate(bit_index(c.span.lsb)) < 0.1;
  });
  // Counters of a page, that stand still while other pages are sent.
  for (const CounterFinding& c : counters_by_page.find().counters) {
    const auto meets = [&](const auto& other) { return other.span.overlaps(c.span); };
    if (!meets(*selector) && std::none_of(result.counters.begin(), result.counters.end(), meets) &&
        std::none_of(result.checksums.begin(), result.checksums.end(), meets)) {
      result.counters.push_back(c);
    }
  }
  if (result.checksums.empty()) {
    result.checksums = survey_checksums(rows, result.id, {selector->span}, result.copies);
    for (const ChecksumFinding& c : result.checksums) drop_overlapping(result.counters, c.span);
  }
}

// Behind service and data identifier each kind of data has its own layout. Payloads that are not
// asked for are surveyed as frames are, as far as the survey's rows reach.
void find_in_payloads(const MessageSeries& message, MessageSurvey& result) {
  const auto selector = data_selector(message);
  if (!selector) {
    if (message.length <= longest_frame) find_fields(survey_rows(message, most_rows), result);
    return;
  }
  std::set<std::uint64_t> values;
  for (std::size_t i = 0; i < message.size(); ++i) {
    const std::size_t length = message.lengths.empty() ? message.length : message.lengths[i];
    const auto row = message.row(i).first(length);
    if (identifier_bytes_of(row) == static_cast<std::size_t>(selector->last_byte())) {
      values.insert(extract(*selector, row));
    }
  }
  result.selectors = {{*selector, {values.begin(), values.end()}}};
}

MessageSurvey timed(const MessageSeries& message) {
  MessageSurvey result;
  result.bus = message.bus;
  result.id = message.id;
  result.frames = message.size();
  result.length = message.length;
  result.length_varies = std::adjacent_find(message.lengths.begin(), message.lengths.end(),
                                            std::not_equal_to<>()) != message.lengths.end();
  const Timing timing = survey_timing(message.t_ns);
  result.period_s = timing.period_s;
  result.mean_period_s = timing.mean_period_s;
  result.jitter_s = timing.jitter_s;
  result.in_bursts = timing.in_bursts;
  result.event_driven = timing.event_driven;
  result.constant_bits = survey_constants(message);
  return result;
}

bool carries_a_payload_of(std::span<const MessageSeries> messages, const MessageSeries& frames) {
  return !is_payload(frames.id) &&
         std::any_of(messages.begin(), messages.end(), [&](const MessageSeries& other) {
           return is_payload(other.id) && other.bus == frames.bus &&
                  frames_of(other.id) == frames.id;
         });
}

MessageSurvey survey_frames(const MessageSeries& message) {
  MessageSurvey result = timed(message);
  result.segmented_transport = true;
  return result;
}

}  // namespace

MessageSurvey survey_message(const MessageSeries& message) {
  MessageSurvey result = timed(message);
  if (is_payload(message.id)) {
    find_in_payloads(message, result);
    return result;
  }
  result.segmented_transport = carries_segments(message);
  if (result.segmented_transport) return result;
  const auto spoken = without_blank_frames(message);
  find_fields(survey_rows(spoken ? *spoken : message, most_rows), result);
  return result;
}

Survey survey(std::span<const MessageSeries> messages) {
  Survey result;
  result.messages.resize(messages.size());
  in_parallel(messages.size(), [&](std::size_t i) {
    result.messages[i] = carries_a_payload_of(messages, messages[i]) ? survey_frames(messages[i])
                                                                     : survey_message(messages[i]);
  });
  std::sort(result.messages.begin(), result.messages.end(), [](const auto& a, const auto& b) {
    return std::tuple(a.bus, a.id.is_extended(), a.id.number(), a.id.raw) <
           std::tuple(b.bus, b.id.is_extended(), b.id.number(), b.id.raw);
  });
  return result;
}

}  // namespace foundling
