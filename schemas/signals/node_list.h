// Sibling lines of a map as a merge of versions sees them: every line has a key by which another
// version has the same line, and a blank line belongs to the line below it.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "schemas/signals/document.h"

namespace foundling {

struct Item {
  std::string key;     // unique in its list; of a signal its name, of `bits` the word itself, ...
  bool blank = false;  // a blank line above
  const Node* node = nullptr;
  bool operator==(const Item& other) const { return blank == other.blank && *node == *other.node; }
};

// The items point into `nodes`, which has to outlive them.
[[nodiscard]] std::vector<Item> items_of(const std::vector<Node>& nodes);

// A signal that a version has under another name but with the bits and page of one that only the
// base has was renamed: it takes the key that it had.
void recognise_renamed(std::vector<Item>& version, const std::vector<Item>& base);

// "# text" as a line; what is too long for one ends in dots.
[[nodiscard]] Node comment_node(const std::string& text);

[[nodiscard]] bool is_signal(const Node& node);         // or a series
[[nodiscard]] bool is_meaning(const fact::Fact& fact);  // says what the decoder does with a signal

enum class Comments : std::uint8_t { keep, revert };

// `version` with the items that `which` picks as `base` has them. Kept, a comment behind a line
// that goes stands on a line of its own.
[[nodiscard]] std::vector<Node> reverted(const std::vector<Node>& version,
                                         const std::vector<Node>& base,
                                         const std::function<bool(const Item&)>& which,
                                         Comments comments);

}  // namespace foundling
