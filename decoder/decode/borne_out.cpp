#include "decoder/decode/borne_out.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "schemas/signals/evidence_words.h"
#include "schemas/signals/field.h"

namespace foundling {
namespace {

std::string rounded(double value, int digits) {
  std::array<char, 32> text{};
  const auto stop = std::to_chars(text.data(), text.data() + text.size(), value,
                                  std::chars_format::general, digits)
                        .ptr;
  return {text.data(), stop};
}

struct Judged {  // the fields of one entry
  std::vector<std::string> names;
  std::vector<const SignalCheck*> passed;
};

Judged judge(const std::vector<Field>& fields, std::size_t message, std::size_t entry,
             const MapCheck& check) {
  Judged judged;
  for (const Field& field : fields) {
    if (field.message != message || field.entry != entry) continue;
    judged.names.push_back(field.name);
    const auto found = std::ranges::find(check.signals, field.name, &SignalCheck::signal);
    if (found != check.signals.end() && found->pass) judged.passed.push_back(&*found);
  }
  return judged;
}

// Of a series: of the member that was farthest off.
std::string evidence_text(const Judged& judged, const SessionIdentity& session) {
  const SignalCheck& worst = **std::ranges::max_element(
      judged.passed, {}, [](const SignalCheck* c) { return c->deciding / c->tolerance; });
  std::string text(checked_word);
  if (judged.names.size() > 1) {
    text += ", all " + std::to_string(judged.names.size()) + " members pass; the farthest off";
  }
  text += ", " + std::to_string(worst.samples) + " readings";
  if (!worst.is_state) {
    if (std::isfinite(worst.gain)) text += ", gain " + rounded(worst.gain, 5);
    text += ", largest error " + rounded(worst.largest, 3) + " of " + rounded(worst.tolerance, 3) +
            ' ' + worst.unit;
  }
  if (!session.digest.empty()) text += ", " + digest_words(session.digest);
  return text;
}

void add(BorneOut& out, const MessageEntry& message, const SignalEntry& entry) {
  auto& messages = out.findings.messages;
  if (messages.empty() || messages.back().bus != message.bus || messages.back().id != message.id) {
    messages.push_back(message);
    messages.back().signals.clear();
  }
  messages.back().signals.push_back(entry);
}

}  // namespace

BorneOut borne_out(const SignalMap& map, const MapCheck& check, const SessionIdentity& session) {
  BorneOut out;
  if (made_from(map, session)) return out;
  const std::vector<Field> fields = fields_of(map);
  for (std::size_t m = 0; m < map.messages.size(); ++m) {
    const MessageEntry& message = map.messages[m];
    for (std::size_t e = 0; e < message.signals.size(); ++e) {
      if (!only_by_relation(message.signals[e])) continue;
      const Judged judged = judge(fields, m, e, check);
      if (judged.passed.empty()) continue;
      if (judged.passed.size() < judged.names.size()) {
        out.partly.push_back(message.signals[e].name + ": " + std::to_string(judged.passed.size()) +
                             " of " + std::to_string(judged.names.size()) + " members");
        continue;
      }
      SignalEntry entry = message.signals[e];
      entry.seen = {{session.capture, session.session, evidence_text(judged, session)}};
      add(out, message, entry);
      out.signals.insert(out.signals.end(), judged.names.begin(), judged.names.end());
    }
  }
  return out;
}

}  // namespace foundling
