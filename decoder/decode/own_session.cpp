#include "decoder/decode/own_session.h"

#include <algorithm>
#include <array>
#include <cstdio>
#include <tuple>
#include <vector>

#include "schemas/signals/evidence_words.h"
#include "schemas/values/payload_id.h"

namespace foundling {
namespace {

constexpr std::string_view digest_word = "digest ";
constexpr std::size_t digest_length = 16;

class Fnv {
 public:
  void byte(std::uint8_t value) { hash_ = (hash_ ^ value) * 1099511628211ULL; }
  void number(std::uint64_t value) {
    for (int shift = 0; shift < 64; shift += 8) byte(static_cast<std::uint8_t>(value >> shift));
  }
  [[nodiscard]] std::uint64_t hash() const { return hash_; }

 private:
  std::uint64_t hash_ = 14695981039346656037ULL;
};

void add_row(Fnv& fnv, const MessageSeries& message, std::size_t i) {
  const std::size_t length = message.lengths.empty() ? message.length : message.lengths[i];
  fnv.number(length);
  for (const std::uint8_t value : message.row(i).first(length)) fnv.byte(value);
}

// The digest that evidence was written with; empty where it has none.
std::string_view digest_in(const Evidence& seen) {
  const std::string_view text = seen.text;
  const auto at = text.rfind(digest_word);
  if (at == std::string_view::npos) return {};
  const std::string_view digest = text.substr(at + digest_word.size(), digest_length);
  const bool hexadecimal = digest.find_first_not_of("0123456789abcdef") == std::string_view::npos;
  return hexadecimal && digest.size() == digest_length ? digest : std::string_view();
}

}  // namespace

std::string session_digest(std::span<const MessageSeries> messages) {
  std::vector<const MessageSeries*> all;
  for (const MessageSeries& message : messages) {
    if (message.size() > 0 && !is_payload(message.id)) all.push_back(&message);
  }
  std::ranges::sort(all, {}, [](const MessageSeries* m) { return std::tuple(m->bus, m->id); });
  Fnv fnv;
  for (const MessageSeries* message : all) {
    fnv.byte(message->bus);
    fnv.byte(message->id.is_extended() ? 1 : 0);
    fnv.number(message->id.number());
    fnv.number(message->size());
    add_row(fnv, *message, 0);
    add_row(fnv, *message, message->size() - 1);
  }
  std::array<char, 20> text{};
  std::snprintf(text.data(), text.size(), "%016llx", static_cast<unsigned long long>(fnv.hash()));
  return text.data();
}

std::string digest_words(const std::string& digest) { return std::string(digest_word) + digest; }

bool made_from(const SignalMap& map, const SessionIdentity& session) {
  const auto is_it = [&session](const Evidence& seen) {
    if (seen.text.starts_with(checked_word)) return false;  // checked against it, not made from it
    const std::string_view digest = digest_in(seen);
    if (!digest.empty()) return digest == session.digest;
    return seen.source == session.capture && seen.session == session.session;
  };
  return std::ranges::any_of(map.messages, [&](const MessageEntry& message) {
    return std::ranges::any_of(message.signals, [&](const SignalEntry& signal) {
      return std::ranges::any_of(signal.seen, is_it);
    });
  });
}

}  // namespace foundling
