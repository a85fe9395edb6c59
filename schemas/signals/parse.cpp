#include "schemas/signals/parse.h"

#include <algorithm>
#include <array>
#include <cstddef>
#include <optional>
#include <string>

#include "schemas/signals/fact_reader.h"
#include "schemas/signals/hints.h"
#include "schemas/signals/place_facts.h"
#include "schemas/values/nearest_word.h"
#include "schemas/values/utf8.h"

namespace foundling {
namespace {

constexpr std::size_t most_diagnostics = 1000;  // a hostile text costs bounded memory

// Comments and blank lines wait until the line below says where they can go.
struct Waiting {
  std::size_t level;
  Node node;
};

class Parser {
 public:
  Parsed run(std::string_view text);

 private:
  void read_header(std::string_view line);
  bool is_text(std::string_view line);
  void read_line(std::string_view line);
  void error(TextPlace place, std::string message, std::string suggestion = {});
  void read_fact(std::string_view line, std::size_t indent);
  void read_known(LineReader& reader, const Keyword& keyword, const Token& word);
  void read_pin_line(LineReader& reader, const Token& word, std::size_t indent);
  static bool finished(LineReader& reader);
  void unknown(LineReader& reader, const Token& word, std::size_t indent);
  void wait(fact::Fact fact, std::size_t level);
  void release(std::size_t level);
  void open(std::size_t level, bool good);
  [[nodiscard]] bool broken(std::size_t levels) const;
  void add(LineReader& reader, const Token& word, TextPlace operand, fact::Fact fact,
           std::size_t level);
  std::vector<Node>& list(std::size_t level);

  Parsed parsed_;
  int number_ = 0;
  std::size_t depth_ = 0;         // containers open: 0 none, 1 a message, 2 a signal in it
  std::array<bool, 2> broken_{};  // container of that level had a fault: its lines are only read
  int ended_by_note_ =
      0;  // the line of a note or pin that closed a container; 0 since another opened
  std::optional<std::size_t> skip_below_;  // lines indented deeper belong to an unknown line
  std::vector<Waiting> waiting_;
  std::size_t kept_ = 0;  // lines in the tree or waiting
};

void Parser::error(TextPlace place, std::string message, std::string suggestion) {
  parsed_.diagnostics.push_back(
      {Severity::error, place, std::move(message), std::move(suggestion)});
}

std::vector<Node>& Parser::list(std::size_t level) {
  std::vector<Node>* nodes = &parsed_.document.nodes;
  for (std::size_t i = 0; i < level; ++i) nodes = &nodes->back().children;
  return *nodes;
}

// Whether one of the containers around a line of that level had a fault.
bool Parser::broken(std::size_t levels) const {
  return std::find(broken_.begin(), broken_.begin() + static_cast<std::ptrdiff_t>(levels), true) !=
         broken_.begin() + static_cast<std::ptrdiff_t>(levels);
}

void Parser::open(std::size_t level, bool good) {
  const bool orphan = level > depth_;
  for (std::size_t i = orphan ? 0 : level; i < broken_.size(); ++i) broken_[i] = false;
  if (orphan) broken_.fill(true);
  broken_[level] = !good;
  depth_ = level + 1;
  ended_by_note_ = 0;
}

void Parser::wait(fact::Fact fact, std::size_t level) {
  const bool blank = std::holds_alternative<fact::Blank>(fact);
  if (blank) {
    const bool start = waiting_.empty() && list(0).empty();
    const bool repeated =
        !waiting_.empty() && std::holds_alternative<fact::Blank>(waiting_.back().node.fact);
    if (start || repeated) return;
  }
  ++kept_;
  waiting_.push_back({level, Node{std::move(fact), {}, {}, {number_, 1, 1}, {}}});
}

// A comment keeps its own indentation, as far as the order of lines lets it: never deeper than a
// comment above it, never shallower than the line below. A blank line goes with what follows it.
void Parser::release(std::size_t level) {
  if (broken(depth_)) waiting_.clear();  // their place is lost, and nobody uses a faulty tree
  std::size_t limit = depth_;
  for (Waiting& item : waiting_) {
    if (std::holds_alternative<fact::Blank>(item.node.fact)) continue;
    item.level = std::max(level, std::min(item.level, limit));
    limit = item.level;
  }
  std::size_t below = level;
  for (auto item = waiting_.rbegin(); item != waiting_.rend(); ++item) {
    if (std::holds_alternative<fact::Blank>(item->node.fact)) item->level = below;
    below = item->level;
  }
  for (Waiting& item : waiting_) list(item.level).push_back(std::move(item.node));
  waiting_.clear();
}

void Parser::add(LineReader& reader, const Token& word, TextPlace operand, fact::Fact fact,
                 std::size_t level) {
  release(level);
  ++kept_;
  Node node{std::move(fact), one_line(reader.comment()), {}, reader.place_of(word.source), operand};
  list(level).push_back(std::move(node));
}

// The whole line was understood; nothing but a comment is left.
bool Parser::finished(LineReader& reader) {
  if (!reader.finish()) return false;
  Token comment;
  comment.source = reader.comment();
  return reader.fits(comment, comment.source, longest_free_text, "a comment");
}

void Parser::read_known(LineReader& reader, const Keyword& keyword, const Token& word) {
  const auto level = static_cast<std::size_t>(keyword.level);
  if (level > depth_) {
    const std::string needed = depth_ == 0 ? "a message" : "a signal or series";
    std::string hint;
    if (ended_by_note_ != 0) {
      hint = "the note or pin on line " + std::to_string(ended_by_note_) +
             " is indented less and ended it; indent it";
    }
    reader.fail(word, needed + " before this line", hint);
    if (keyword.opens) open(level, false);
    return;
  }
  const TextPlace operand = reader.place_of(reader.peek().source);
  auto fact = keyword.read(reader);
  const bool good = fact.has_value() && (word.source == "seen" || finished(reader));
  if (good && !broken(level)) add(reader, word, operand, *std::move(fact), level);
  if (keyword.opens) {
    open(level, good);
  } else {
    depth_ = level;
    ended_by_note_ = 0;
  }
}

void Parser::unknown(LineReader& reader, const Token& word, std::size_t indent) {
  const auto near = nearest_word(word.source, keyword_words());
  reader.fail(word, "a keyword", near ? "did you mean '" + *near + "'?" : habit_hint(word.source));
  const Keyword* meant = near ? find_keyword(*near) : nullptr;
  // Read on as if it had been meant, so that one slip is reported once.
  if (meant != nullptr && meant->opens) open(static_cast<std::size_t>(meant->level), false);
  if (!near) skip_below_ = indent;
}

// A pin is the map's or a message's, by its indentation; below a signal's lines it is its
// message's.
void Parser::read_pin_line(LineReader& reader, const Token& word, std::size_t indent) {
  const TextPlace operand = reader.place_of(reader.peek().source);
  auto fact = read_pin(reader);
  const std::size_t level = std::min({indent, depth_, std::size_t{1}});
  if (fact && finished(reader) && !broken(level)) {
    add(reader, word, operand, *std::move(fact), level);
  }
  if (level == 0 && depth_ > 0) ended_by_note_ = number_;
  depth_ = level;
}

void Parser::read_fact(std::string_view line, std::size_t indent) {
  LineReader reader(line, number_, parsed_.diagnostics);
  const Token word = reader.peek();
  if (word.kind != Token::Kind::word) {
    reader.fail(word, "a keyword", habit_hint(word.source));
    return;
  }
  reader.take();
  if (word.source == "pin") {
    read_pin_line(reader, word, indent);
  } else if (word.source == "note") {
    const TextPlace operand = reader.place_of(reader.peek().source);
    auto fact = read_note(reader);
    const std::size_t level = std::min(indent, depth_);
    if (!fact || broken(level)) return;
    if (level < depth_) ended_by_note_ = number_;
    release(level);
    ++kept_;
    list(level).push_back(Node{*std::move(fact), {}, {}, reader.place_of(word.source), operand});
    depth_ = level;
  } else if (const Keyword* keyword = find_keyword(word.source)) {
    read_known(reader, *keyword, word);
  } else {
    unknown(reader, word, indent);
  }
}

// Whether the line is text at all; reported where not.
bool Parser::is_text(std::string_view line) {
  if (line.size() > longest_line) {
    error({number_, 1, 1}, "expected a line of at most " + std::to_string(longest_line) +
                               " bytes, found one of " + std::to_string(line.size()));
    return false;
  }
  const std::size_t good = well_formed_bytes(line);
  if (good == line.size()) return true;
  const bool wide = number_ == 1 && (line.starts_with("\xFF\xFE") || line.starts_with("\xFE\xFF"));
  const auto column = static_cast<int>(characters(line.substr(0, good))) + 1;
  error({number_, column, 1},
        std::string("expected UTF-8 text, found ") +
            (wide ? "UTF-16" : "a byte that cannot stand here"),
        "save the file as UTF-8");
  return false;
}

void Parser::read_line(std::string_view line) {
  const auto start = line.find_first_not_of(" \t");
  if (start == std::string_view::npos) return wait(fact::Blank{}, 0);
  std::size_t columns = 0;
  for (const char c : line.substr(0, start)) columns += c == '\t' ? 2 : 1;
  const std::size_t indent = std::min<std::size_t>((columns + 1) / 2, 2);
  if (line[start] == '#') {
    auto text =
        LineReader(line, number_, parsed_.diagnostics).free_text(line.substr(start), "a comment");
    if (text) wait(fact::Comment{*std::move(text)}, indent);
    return;
  }
  if (skip_below_ && indent > *skip_below_) return;
  skip_below_.reset();
  read_fact(line, indent);
}

void Parser::read_header(std::string_view line) {
  LineReader reader(line, 1, parsed_.diagnostics);
  const std::string hint = "the first line of a signal map is: foundling signals 1";
  if (!reader.accept("foundling") || !reader.accept("signals")) {
    reader.fail(reader.peek(), "'foundling signals 1'", hint);
    return;
  }
  if (!reader.accept("1")) {
    const bool none = reader.peek().kind == Token::Kind::end;
    reader.fail(reader.peek(), "version 1 of the format",
                none ? hint : "this file may need a newer version of the program");
    return;
  }
  if (finished(reader)) parsed_.document.header_comment = one_line(reader.comment());
}

Parsed Parser::run(std::string_view text) {
  if (text.starts_with(byte_order_mark)) text.remove_prefix(byte_order_mark.size());
  while (number_ == 0 || !text.empty()) {
    const auto end = text.find('\n');
    std::string_view line = text.substr(0, end);
    if (line.ends_with('\r')) line.remove_suffix(1);
    text.remove_prefix(end == std::string_view::npos ? text.size() : end + 1);
    ++number_;
    const bool text_line = is_text(line);
    if (number_ > 1) {
      if (text_line) read_line(line);
    } else {
      if (text_line) read_header(line);
      if (!parsed_.diagnostics.empty()) return std::move(parsed_);  // of something else: said once
    }
    if (parsed_.diagnostics.size() >= most_diagnostics) break;
    if (kept_ > most_lines) {
      error({number_, 1, 1},
            "expected at most " + std::to_string(most_lines) + " lines, found more");
      break;
    }
  }
  if (!waiting_.empty() && std::holds_alternative<fact::Blank>(waiting_.back().node.fact)) {
    waiting_.pop_back();
  }
  release(0);
  return std::move(parsed_);
}

}  // namespace

Parsed parse_document(std::string_view text) { return Parser().run(text); }

}  // namespace foundling
