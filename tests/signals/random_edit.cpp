#include "tests/signals/random_edit.h"

#include <algorithm>
#include <cstdlib>
#include <string>
#include <utility>

#include "schemas/signals/format.h"
#include "schemas/signals/node_list.h"
#include "schemas/signals/read.h"

namespace foundling {
namespace {

Node comment_line(Random& random, std::string_view text) {
  return Node{fact::Comment{"# " + std::string(text) + ' ' + std::to_string(below(random, 1000))},
              {},
              {},
              {},
              {}};
}

template <typename Wanted>
Wanted* find_fact(Node& signal) {
  for (Node& line : signal.children) {
    if (auto* fact = std::get_if<Wanted>(&line.fact)) return fact;
  }
  return nullptr;
}

void set_status(Node& signal, Random& random) {
  const auto status = static_cast<Status>(below(random, 3));
  if (auto* line = find_fact<fact::StatusLine>(signal)) {
    line->status = status;
  } else {
    signal.children.push_back(Node{fact::StatusLine{status}, {}, {}, {}, {}});
  }
}

void set_number(Node& signal, Random& random) {
  const double number = 1 + static_cast<double>(below(random, 100)) / 8;
  if (auto* linear = find_fact<fact::Linear>(signal)) linear->scale = number;
  if (auto* delay = find_fact<fact::Delay>(signal)) delay->seconds = number / 16;
  if (auto* point = find_fact<TablePoint>(signal)) point->value = number;
}

void rename(Node& signal, Random& random) {
  const std::string name = "renamed_" + std::to_string(below(random, 1000));
  if (auto* head = std::get_if<fact::SignalHead>(&signal.fact)) head->name = name;
  if (auto* head = std::get_if<fact::SeriesHead>(&signal.fact)) head->name = name;
}

void add_line(Node& signal, Random& random) {
  const std::string number = std::to_string(below(random, 1000));
  fact::Fact fact = fact::Note{"a note " + number};
  if (below(random, 3) == 0) fact = Evidence{"b.capture", 2, "figures " + number};
  signal.children.push_back(Node{std::move(fact), {}, {}, {}, {}});
}

void delete_line(Node& signal, Random& random) {
  if (signal.children.empty()) return;
  const auto at = static_cast<std::ptrdiff_t>(below(random, signal.children.size()));
  signal.children.erase(signal.children.begin() + at);
}

void comment(Node& signal, Random& random) {
  if (below(random, 2) == 0) {
    signal.children.push_back(comment_line(random, "below"));
  } else if (!signal.children.empty()) {
    Node& line = signal.children[below(random, signal.children.size())];
    const bool takes_one = !std::holds_alternative<fact::Note>(line.fact) &&
                           !std::holds_alternative<Evidence>(line.fact) &&
                           !std::holds_alternative<fact::Comment>(line.fact) &&
                           !std::holds_alternative<fact::Blank>(line.fact);
    if (takes_one) line.comment = "# behind " + std::to_string(below(random, 1000));
  }
}

void edit_signal(Node& message, std::size_t at, Random& random, bool moves) {
  Node& signal = message.children[at];
  const auto where = message.children.begin() + static_cast<std::ptrdiff_t>(at);
  switch (below(random, 9)) {
    case 0:
      return set_status(signal, random);
    case 1:
    case 2:
      return set_number(signal, random);
    case 3:
      return rename(signal, random);
    case 4:
      return add_line(signal, random);
    case 5:
      return delete_line(signal, random);
    case 6:
      message.children.erase(where);
      return;
    case 7:
      if (moves && at > 0) std::swap(message.children[at], message.children[at - 1]);
      return;
    default:
      return comment(signal, random);
  }
}

}  // namespace

std::uint64_t random_cases(std::uint64_t usual) {
  const char* wanted = std::getenv("FOUNDLING_RANDOM_MAPS");
  return wanted == nullptr ? usual : std::strtoull(wanted, nullptr, 10);
}

bool reads_back(const Document& document) {
  const SignalText read = read_signals(format(document));
  return read.ok() && read.document == document;
}

Document edited(const Document& document, Random& random,
                const std::function<bool(std::size_t)>& mine, bool moves) {
  Document current = document;
  std::size_t number = 0;
  for (std::size_t m = 0; m < document.nodes.size(); ++m) {
    for (const Node& line : document.nodes[m].children) {
      if (!is_signal(line)) continue;
      if (!mine(number++) || below(random, 3) == 0) continue;
      Document next = current;
      auto& lines = next.nodes[m].children;
      const auto at =
          std::ranges::find_if(lines, [&line](const Node& node) { return node.fact == line.fact; });
      if (at == lines.end()) continue;
      edit_signal(next.nodes[m], static_cast<std::size_t>(at - lines.begin()), random, moves);
      if (reads_back(next)) current = std::move(next);
    }
  }
  return current;
}

std::vector<std::string> comments_of(const Document& document) {
  std::vector<std::string> all;
  if (!document.header_comment.empty()) all.push_back(document.header_comment);
  const std::function<void(const std::vector<Node>&)> take = [&](const std::vector<Node>& nodes) {
    for (const Node& node : nodes) {
      if (const auto* line = std::get_if<fact::Comment>(&node.fact)) all.push_back(line->text);
      if (!node.comment.empty()) all.push_back(node.comment);
      take(node.children);
    }
  };
  take(document.nodes);
  return all;
}

}  // namespace foundling
