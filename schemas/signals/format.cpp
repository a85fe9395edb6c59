#include "schemas/signals/format.h"

#include "schemas/signals/fact_text.h"

namespace foundling {
namespace {

void append(std::string& out, const std::vector<Node>& nodes, std::size_t level) {
  for (const Node& node : nodes) {
    const std::string line = to_text(node.fact);
    if (!line.empty()) out += std::string(2 * level, ' ') + line;
    if (!node.comment.empty()) out += "  " + node.comment;
    out += '\n';
    append(out, node.children, level + 1);
  }
}

}  // namespace

std::string format(const Document& document) {
  std::string out = "foundling signals 1";
  if (!document.header_comment.empty()) out += "  " + document.header_comment;
  out += '\n';
  if (!document.nodes.empty()) out += '\n';
  append(out, document.nodes, 0);
  return out;
}

}  // namespace foundling
