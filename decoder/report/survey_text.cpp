#include <set>

#include "decoder/report/bus_load.h"
#include "decoder/report/figures.h"
#include "decoder/report/page_number.h"
#include "decoder/report/paragraph.h"
#include "decoder/report/survey_report.h"
#include "decoder/report/text_table.h"
#include "decoder/transport/answer_codes.h"
#include "schemas/values/payload_id.h"

namespace foundling {
namespace {

std::string hex(std::uint64_t value) {
  std::string digits;
  for (; value != 0 || digits.empty(); value >>= 4) {
    digits.insert(digits.begin(), "0123456789ABCDEF"[value & 0xFU]);
  }
  return digits.size() % 2 == 1 ? "0" + digits : digits;
}

std::string counter_line(const CounterFinding& c) {
  std::string text = "counter " + to_string(c.span) + " modulo " + std::to_string(c.modulus);
  if (c.step != 1) text += ", step " + std::to_string(c.step);
  return text;
}

std::string checksum_line(const ChecksumFinding& c) {
  std::string text = "checksum " + to_string(c.span) + ' ' + c.kind;
  if (!c.polynomial.empty()) {
    text += " polynomial " + c.polynomial;
    if (c.reflected) text += " reflected";
  }
  text += " over bytes " + std::to_string(c.first_byte) + ".." + std::to_string(c.last_byte);
  if (c.includes_identifier) text += " and the identifier";
  if (c.initial) text += ", start " + hex(*c.initial);
  if (c.final_xor) text += ", final " + hex(*c.final_xor);
  if (!c.name.empty()) text += " (" + c.name + ")";
  if (!c.note.empty()) text += "; " + c.note;
  return text;
}

std::string selector_line(const SelectorFinding& s) {
  constexpr std::size_t most_listed = 12;
  std::string text =
      "selector " + to_string(s.span) + ", " + std::to_string(s.values.size()) + " pages:";
  // Runs of neighbouring values as first..last.
  std::size_t listed = 0;
  for (std::size_t i = 0; i < s.values.size(); ++listed) {
    std::size_t end = i;
    while (end + 1 < s.values.size() && s.values[end + 1] == s.values[end] + 1) ++end;
    if (listed == most_listed) return text + " ...";
    text += ' ' + page_number_text(s.values[i]);
    if (end > i) text += ".." + page_number_text(s.values[end]);
    i = end + 1;
  }
  return text;
}

std::string of_them(std::string text, std::uint64_t count, const std::string& what) {
  if (count == 0) return text;
  if (!text.empty()) text += ", ";
  return text + std::to_string(count) + ' ' + what;
}

std::string carried_line(const SegmentCounts& c) {
  std::string text = std::to_string(c.whole()) + " payloads whole, " + std::to_string(c.segmented) +
                     " of them from several frames; ";
  text += c.dropped() == 0 ? "none dropped" : std::to_string(c.dropped()) + " dropped (";
  std::string why = of_them({}, c.out_of_order, "with a segment missing");
  why = of_them(std::move(why), c.repeated, "with one twice");
  why = of_them(std::move(why), c.late, "with one too late");
  why = of_them(std::move(why), c.cut_short, "cut short");
  why = of_them(std::move(why), c.too_long, "longer than 255 bytes");
  return c.dropped() == 0 ? text : text + why + ')';
}

std::string hex_byte(std::uint8_t value) {
  const std::string digits = hex(value);
  return digits.size() < 2 ? '0' + digits : digits;
}

// Who asks, how often, and what comes back.
std::string conversation_line(const Conversation& c, bool with_bus) {
  std::string text = with_bus ? "bus " + std::to_string(c.bus) + ": " : std::string();
  text += identifier_text(frames_of(c.asks)) + " asks " + identifier_text(frames_of(c.replies)) +
          " for data, " + std::to_string(c.requests) + " times, usually every " +
          duration(c.period_s) + ": " + std::to_string(c.answered) + " answered";
  for (const auto& [code, times] : c.refused) {
    text += ", " + std::to_string(times) + " answered with " + hex_byte(code) + " (" +
            answer_code_words(code) + ')';
  }
  if (c.unanswered > 0) text += ", " + std::to_string(c.unanswered) + " not answered";
  return text;
}

int constant_bits(const MessageSurvey& m) {
  int bits = 0;
  for (const Span& span : m.constant_bits) bits += span.width();
  return bits;
}

std::string how_sent(const MessageSurvey& m) {
  if (m.event_driven) return "on events";
  return m.frames < 2 ? "once" : "periodic";
}

void add_message(TextTable& table, const MessageSurvey& m, const Talk& talk) {
  const bool once = m.frames < 2;
  table.add({std::to_string(m.bus), identifier_text(m.id), std::to_string(m.frames), how_sent(m),
             once ? "-" : duration(m.period_s), once ? "-" : duration(m.jitter_s),
             (m.length_varies ? "<=" : "") + std::to_string(m.length),
             once ? "-" : std::to_string(constant_bits(m))});
  if (m.in_bursts) {
    table.add_line("in bursts, with " + duration(m.mean_period_s) + " between frames on average");
  }
  for (const CopyFinding& c : m.copies) {
    table.add_line("copy: " + to_string(c.second) + " always says what " + to_string(c.first) +
                   " says");
  }
  if (m.segmented_transport) table.add_line("carries payloads in segments (ISO 15765-2)");
  if (const SegmentCounts* carried = talk.carried_by(m.bus, m.id)) {
    table.add_line(carried_line(*carried));
  }
  for (const SelectorFinding& s : m.selectors) table.add_line(selector_line(s));
  for (const CounterFinding& c : m.counters) table.add_line(counter_line(c));
  for (const ChecksumFinding& c : m.checksums) table.add_line(checksum_line(c));
}

std::string load_line(const Survey& survey, const SurveySource& source, std::uint8_t bus) {
  const std::string name = "bus " + std::to_string(bus);
  const auto load = bus_load(survey, bus, source.duration_s, source.bit_rate);
  if (!load) {
    return name + ": load unknown, the session does not say the " +
           (source.bit_rate > 0 ? "duration" : "bit rate");
  }
  return name + ": load " + figure(load->least * 100, 3) + " % without stuff bits, at most " +
         figure(load->most * 100, 3) + " %, of " +
         figure(static_cast<double>(source.bit_rate) / 1000, 6) + " kbit/s" +
         (load->without_fd ? " (CAN FD frames not counted)" : "");
}

}  // namespace

std::string survey_text(const Survey& survey, const SurveySource& source, const Talk& talk,
                        std::size_t width) {
  std::uint64_t frames = 0;
  std::size_t identifiers = 0;
  std::set<std::uint8_t> buses;
  for (const MessageSurvey& m : survey.messages) {
    if (is_payload(m.id)) continue;
    frames += m.frames;
    ++identifiers;
    buses.insert(m.bus);
  }
  std::string head = source.capture + " session " + std::to_string(source.session) + ": " +
                     std::to_string(frames) + " frames of " + std::to_string(identifiers) +
                     " messages in " + duration(source.duration_s);
  std::string text = paragraph(head, 0, width);
  for (const std::uint8_t bus : buses) text += paragraph(load_line(survey, source, bus), 0, width);
  TextTable table({{"bus", true},
                   {"identifier"},
                   {"frames", true},
                   {"sent"},
                   {"period", true},
                   {"jitter", true},
                   {"bytes", true},
                   {"constant bits", true}},
                  width);
  for (const MessageSurvey& m : survey.messages) add_message(table, m, talk);
  std::string asked;
  for (const Conversation& c : talk.conversations) {
    asked += paragraph(conversation_line(c, buses.size() > 1), 0, width);
  }
  if (!asked.empty()) asked.insert(0, 1, '\n');
  return text + '\n' + table.text() + asked;
}

}  // namespace foundling
