#include "tests/bench/recovery/perfect_answer.h"

#include <algorithm>
#include <bit>

#include "tests/bench/recovery/place.h"
#include "tests/bench/recovery/slip_kinds.h"

namespace foundling::recovery {
namespace {

Proposal proposal_for(const TrueChannel& channel, const TrueField& field) {
  Proposal p;
  p.channel = channel.name;
  p.place = {field.bus, field.id, page_of(field), field.span};
  p.is_signed = field.is_signed;
  p.is_float = field.is_float;
  p.scale = field.scale;
  p.offset = field.offset;
  p.scale_fitted = field.line_scale;
  p.offset_fitted = field.line_offset;
  p.scale_interval = {field.line_scale, field.line_scale};
  p.offset_interval = {field.line_offset, field.line_offset};
  p.delay_s = field.delay_s + channel.clock_offset_s;
  p.time_constant_s = field.time_constant_s;
  p.levels = channel.levels;
  p.untested_high_bits =
      field.is_float ? 0 : field.span.width() - 64 + std::countl_zero(field.moved);
  p.states = field.states;
  if (field.is_curved()) {
    constexpr int points = 500;
    for (int k = 0; k <= points; ++k) {
      const double value = channel.low + (channel.high - channel.low) * k / points;
      p.table.push_back({code_of(field.curve, value), value, 0});
    }
    if (p.table.front().raw > p.table.back().raw) std::reverse(p.table.begin(), p.table.end());
  }
  p.verdict = Verdict::strong;
  return p;
}

Unanswered word_for(const TrueChannel& channel) {
  return {channel.name, "nothing on the bus answers to it alone", {}, "move it alone, more levels"};
}

void name_slips(const RandomBoard& board, std::size_t c, Correlation& answer) {
  const TrueChannel& channel = board.truth.channels[c];
  for (const TrueSlip& slip : channel.slips) {
    for (const Reading& reading : board.channels[c].readings) {
      if (reading.id != slip.reading) continue;
      const Reading& right = *standing_at(board, c, reading.t_ns);
      answer.unfit_readings.push_back({reading.id, channel.name, board.channels[c].channel.unit,
                                       reading.t_ns, reading.value, right.value, reading.state,
                                       right.state, slip.kind});
    }
  }
}

}  // namespace

Correlation perfect_answer(const RandomBoard& board) {
  Correlation answer;
  for (std::size_t c = 0; c < board.channels.size(); ++c) name_slips(board, c, answer);
  for (const TrueChannel& channel : board.truth.channels) {
    if (channel.fields.empty()) {
      answer.unanswered.push_back(word_for(channel));
      continue;
    }
    if (!channel.excited) answer.advice.push_back("move " + channel.name + " alone, more levels");
    Proposal p = proposal_for(channel, channel.fields.front());
    for (const auto& set : board.truth.confounded) {
      if (std::find(set.begin(), set.end(), channel.name) == set.end()) continue;
      p.verdict = Verdict::ambiguous;
      for (const std::string& other : set) {
        if (other != channel.name) p.ambiguous_with.push_back(other);
      }
    }
    if (channel.excited || p.verdict == Verdict::ambiguous) answer.proposals.push_back(p);
    if (!channel.excited) answer.unanswered.push_back(word_for(channel));
  }
  return answer;
}

Survey perfect_survey(const RandomBoard& board) {
  Survey survey;
  for (const TrueMessage& truth : board.truth.messages) {
    MessageSurvey message;
    message.bus = truth.bus;
    message.id = truth.id;
    for (const TrueCounter& counter : truth.counters) {
      message.counters.push_back({counter.span, counter.step, counter.modulus});
    }
    for (const TrueChecksum& checksum : truth.checksums) {
      ChecksumFinding finding;
      finding.span = checksum.span;
      finding.kind = checksum.kind;
      finding.polynomial = checksum.polynomial;
      message.checksums.push_back(finding);
    }
    for (const TrueSelector& selector : truth.selectors) {
      message.selectors.push_back({selector.span, selector.values});
    }
    survey.messages.push_back(message);
  }
  return survey;
}

}  // namespace foundling::recovery
