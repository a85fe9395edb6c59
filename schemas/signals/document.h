// A signal map as its text has it: a tree of lines that keeps every comment and blank line, so that
// the formatter and the merge lose none. SignalMap (signal_map.h) is what it says, without them.
#pragma once

#include <string>
#include <vector>

#include "schemas/signals/diagnostic.h"
#include "schemas/signals/fact.h"

namespace foundling {

struct Node {
  fact::Fact fact;
  std::string comment;         // behind the fact on its line, begins with '#'; or empty
  std::vector<Node> children;  // of a message, a signal or a series
  TextPlace place;             // of the fact; a line of 0: not from a text
  TextPlace operand;           // of its first word after the keyword

  // Two trees are equal when they say the same, wherever they stand.
  bool operator==(const Node& other) const {
    return fact == other.fact && comment == other.comment && children == other.children;
  }
};

struct Document {
  std::string header_comment;  // behind `foundling signals 1`
  std::vector<Node> nodes;
  bool operator==(const Document&) const = default;
};

}  // namespace foundling
