#include "schemas/signals/verify.h"

#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <unordered_map>
#include <utility>

#include "schemas/signals/build.h"
#include "schemas/signals/checksum_words.h"
#include "schemas/signals/fact_text.h"
#include "schemas/signals/field.h"
#include "schemas/signals/parse.h"
#include "schemas/signals/verify_signal.h"
#include "schemas/values/nearest_word.h"
#include "schemas/values/payload_id.h"

namespace foundling {
namespace {

// Bounds the work that a small hostile file can ask for.
constexpr std::size_t most_fields = 16384;
constexpr std::size_t most_selectors = 64;  // of a message
constexpr std::size_t most_errors = 1000;

struct Item {  // something that owns bits of a message
  std::string name;
  Span span;
  std::optional<std::pair<std::string, std::uint64_t>> page;  // selector and value
  TextPlace place;
};

// Who owns each bit of one page; 0 nobody, else an item's number plus one. Bits beyond a frame's
// are few in any map that could ask for many pages of 4,095 bytes.
class Owners {
 public:
  [[nodiscard]] std::uint32_t at(std::size_t bit) const {
    if (bit < near_.size()) return near_[bit];
    const auto found = far_.find(bit);
    return found == far_.end() ? 0 : found->second;
  }
  void set(std::size_t bit, std::uint32_t owner) {
    (bit < near_.size() ? near_[bit] : far_[bit]) = owner;
  }

 private:
  std::array<std::uint32_t, longest_frame * 8> near_{};
  std::unordered_map<std::size_t, std::uint32_t> far_;
};

class Verifier {
 public:
  std::vector<Diagnostic> run(const Document& document, const SignalMap& map);

 private:
  void message(const Node& node, const MessageEntry& entry);
  void parts(const Node& line, const MessageEntry& entry);
  void counter(const Node& line, const Counter& counter);
  void checksum_formula(const Node& line, const Checksum& checksum, const MessageEntry& entry);
  void signal(const Node& line, const MessageEntry& message, const SignalEntry& entry);
  void field(const Node& line, const SignalEntry& entry, const Field& field);
  void within(const Node& line, const Span& span, const MessageEntry& entry);
  void overlaps();
  void claim(const Item& item, std::size_t number, Owners& owners, const Owners* shared);
  bool counted(const Node& line, std::int64_t members);
  void error(const TextPlace& place, std::string text, std::string hint = {});
  [[nodiscard]] bool is_enough() const {
    return is_too_much_ || diagnostics_.size() >= most_errors;
  }

  std::vector<Diagnostic> diagnostics_;
  std::map<std::string, int> names_;  // and the line they are on
  std::size_t fields_ = 0;
  std::size_t lines_ = 0;  // with series spread out
  bool is_too_much_ = false;
  std::vector<Item> items_;  // of the current message
  std::set<int> reported_;   // lines with an overlap
};

void Verifier::error(const TextPlace& place, std::string text, std::string hint) {
  diagnostics_.push_back({Severity::error, place, std::move(text), std::move(hint)});
}

void Verifier::within(const Node& line, const Span& span, const MessageEntry& entry) {
  const int bytes = bytes_of(entry);
  if (span.last_byte() < bytes) return;
  error(line.place,
        "expected bits within the message's " + std::to_string(bytes) + " bytes, found byte " +
            std::to_string(span.last_byte()),
        byte_hint(bytes));
}

void Verifier::counter(const Node& line, const Counter& counter) {
  const int width = counter.span.width();
  if (counter.modulus == 1 || (counter.modulus != 0 && !code_fits(counter.modulus - 1, width))) {
    return error(line.place, "expected a modulus from 2 to 2 to the power of " +
                                 std::to_string(width) + ", found " +
                                 std::to_string(counter.modulus));
  }
  // A whole number of rounds brings it back to where it was.
  const std::uint64_t whole = width < 64 ? std::uint64_t{1} << width : 0;
  const std::uint64_t round = counter.modulus != 0 ? counter.modulus : whole;
  const auto up = static_cast<std::uint64_t>(counter.step);
  const std::uint64_t step = counter.step < 0 ? 0 - up : up;
  if (step == 0 || (round != 0 && step % round == 0)) {
    error(line.place,
          "expected a step that moves the counter, found " + std::to_string(counter.step),
          step == 0 ? std::string() : "it counts modulo " + std::to_string(round));
  }
}

void Verifier::checksum_formula(const Node& line, const Checksum& checksum,
                                const MessageEntry& entry) {
  const int bytes = bytes_of(entry);
  if (checksum.bytes && checksum.bytes->last >= static_cast<std::uint64_t>(bytes)) {
    error(line.place,
          "expected bytes within the message's " + std::to_string(bytes) + " bytes, found byte " +
              std::to_string(checksum.bytes->last),
          byte_hint(bytes));
  }
  std::string reason = unchecked_reason(checksum);
  if (reason.empty()) return;
  std::string hint;
  if (!checksum_kind(checksum.kind)) {
    const auto near = nearest_word(checksum.kind, usual_checksums());
    hint = near ? "did you mean '" + *near + "'?"
                : "crc8 to crc32, sum4, sum8, sum16, xor4, xor8 and j1939 are checked";
  }
  diagnostics_.push_back({Severity::warning, line.place, std::move(reason), std::move(hint)});
}

// Selectors, counters and checksums: the fields that are no signals.
void Verifier::parts(const Node& line, const MessageEntry& entry) {
  if (const auto* selector = std::get_if<Selector>(&line.fact)) {
    within(line, selector->span, entry);
    for (const CodeRange& range : selector->values) {
      if (code_fits(range.last, selector->span.width())) continue;
      error(line.place, "expected values of " + std::to_string(selector->span.width()) +
                            " bits, found " + std::to_string(range.last));
    }
    items_.push_back({"selector " + selector->name, selector->span, {}, line.place});
  } else if (const auto* count = std::get_if<Counter>(&line.fact)) {
    within(line, count->span, entry);
    counter(line, *count);
    items_.push_back({"the counter", count->span, {}, line.place});
  } else if (const auto* checksum = std::get_if<Checksum>(&line.fact)) {
    within(line, checksum->span, entry);
    checksum_formula(line, *checksum, entry);
    items_.push_back({"the checksum", checksum->span, {}, line.place});
  }
}

void Verifier::field(const Node& line, const SignalEntry& entry, const Field& field) {
  const auto [at, fresh] = names_.emplace(field.name, line.place.line);
  if (!fresh) {
    error(line.operand, "expected a name of its own, found '" + field.name + "' again",
          "line " + std::to_string(at->second) + " has it; rename one, or say status refuted");
  }
  Item item{field.name, field.span, {}, bits_of(line).operand};
  if (field.page) item.page = {entry.page->selector, field.page->value};
  items_.push_back(std::move(item));
}

// Adds to what the map costs; false, and reported, where that is too much.
bool Verifier::counted(const Node& line, std::int64_t members) {
  fields_ += static_cast<std::size_t>(members);
  lines_ += static_cast<std::size_t>(members) * (line.children.size() + 1);
  const bool fields = fields_ > most_fields;
  is_too_much_ = fields || lines_ > most_lines;
  if (is_too_much_) {
    error(line.place, "expected at most " + std::to_string(fields ? most_fields : most_lines) +
                          (fields ? " signals" : " lines") +
                          " in a map, series spread out, found more");
  }
  return !is_too_much_;
}

void Verifier::signal(const Node& line, const MessageEntry& message, const SignalEntry& entry) {
  const std::int64_t first = entry.numbers ? entry.numbers->first : 0;
  const std::int64_t last = entry.numbers ? entry.numbers->last : 0;
  if (!counted(line, last - first + 1)) return;
  if (!verify_signal(line, message, entry, diagnostics_)) return;
  if (entry.status == Status::refuted) return;  // it owns nothing any more
  const std::size_t errors = diagnostics_.size();
  for (std::int64_t n = first; n <= last && diagnostics_.size() == errors; ++n) {
    if (const auto member = field_of(message, entry, n)) field(line, entry, *member);
  }
}

// Reports the first bit of `item` that somebody else has; takes the others.
void Verifier::claim(const Item& item, std::size_t number, Owners& owners, const Owners* shared) {
  std::uint32_t other = 0;
  for (int i = 0; i < item.span.width(); ++i) {
    const BitPosition p = item.span.position(i);
    const std::size_t bit = std::size_t{p.byte} * 8 + p.bit;
    if (other == 0 && shared != nullptr) other = shared->at(bit);
    const std::uint32_t owner = owners.at(bit);
    if (other == 0) other = owner;
    if (owner == 0) owners.set(bit, static_cast<std::uint32_t>(number + 1));
  }
  if (other == 0 || !reported_.insert(item.place.line).second) return;  // a series only once
  const Item& owner = items_[other - 1];
  error(item.place,
        "expected bits of its own for " + item.name + ", found bits of " + owner.name + " in " +
            to_string(item.span),
        owner.name + " is on line " + std::to_string(owner.place.line) + " with bits " +
            to_string(owner.span));
}

void Verifier::overlaps() {
  Owners shared{};  // fields that are on every page come first
  for (std::size_t i = 0; i < items_.size(); ++i) {
    if (!items_[i].page) claim(items_[i], i, shared, nullptr);
  }
  std::map<std::pair<std::string, std::uint64_t>, Owners> pages;
  for (std::size_t i = 0; i < items_.size(); ++i) {
    if (items_[i].page) claim(items_[i], i, pages[*items_[i].page], &shared);
  }
}

void Verifier::message(const Node& node, const MessageEntry& entry) {
  items_.clear();
  std::set<std::string> selectors;
  std::size_t next_signal = 0;
  if (entry.selectors.size() > most_selectors) {
    return error(node.place, "expected at most " + std::to_string(most_selectors) +
                                 " selectors in a message, found " +
                                 std::to_string(entry.selectors.size()));
  }
  for (const Node& line : node.children) {
    if (is_enough()) return;
    const auto* selector = std::get_if<Selector>(&line.fact);
    if (selector != nullptr && !selectors.insert(selector->name).second) {
      error(line.operand, "expected a name of its own, found '" + selector->name + "' again");
    }
    if (std::holds_alternative<fact::SignalHead>(line.fact) ||
        std::holds_alternative<fact::SeriesHead>(line.fact)) {
      signal(line, entry, entry.signals[next_signal++]);
    } else {
      parts(line, entry);
    }
  }
  overlaps();
}

std::vector<Diagnostic> Verifier::run(const Document& document, const SignalMap& map) {
  std::map<std::pair<std::uint8_t, CanId>, int> messages;
  std::size_t next = 0;
  for (const Node& node : document.nodes) {
    if (!std::holds_alternative<fact::MessageHead>(node.fact)) continue;
    const MessageEntry& entry = map.messages[next++];
    const auto [at, fresh] = messages.emplace(std::pair(entry.bus, entry.id), node.place.line);
    if (!fresh) {
      error(node.operand,
            "expected an identifier of its own on bus " + std::to_string(entry.bus) +
                ", found it again",
            "line " + std::to_string(at->second) + " has it; put its signals there");
    }
    message(node, entry);
    if (is_enough()) break;
  }
  // What was not looked at any more may hold errors.
  if (is_enough() && !has_errors(diagnostics_)) {
    error(diagnostics_.back().place,
          "expected fewer than " + std::to_string(most_errors) + " warnings, found more",
          "nothing behind this line was looked at; correct what the warnings say first");
  }
  return std::move(diagnostics_);
}

}  // namespace

std::vector<Diagnostic> verify_map(const Document& document, const SignalMap& map) {
  return Verifier().run(document, map);
}

bool is_faultless(const Document& document) {
  const Built built = build_map(document);
  return built.diagnostics.empty() && !has_errors(verify_map(document, built.map));
}

}  // namespace foundling
