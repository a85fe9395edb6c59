#include "schemas/signals/read.h"

#include <algorithm>

#include "schemas/signals/build.h"
#include "schemas/signals/parse.h"
#include "schemas/signals/verify.h"

namespace foundling {
namespace {

void append(std::vector<Diagnostic>& to, std::vector<Diagnostic> from) {
  to.insert(to.end(), from.begin(), from.end());
}

// Without the messages in which something is wrong: what they say together would only report what
// follows from that. A message goes down to the next one.
Document without_faulty(const Document& document, const std::vector<Diagnostic>& diagnostics) {
  std::vector<int> wrong;  // lines, sorted: there may be thousands of both
  for (const Diagnostic& found : diagnostics) {
    if (found.severity == Severity::error) wrong.push_back(found.place.line);
  }
  std::ranges::sort(wrong);
  Document sound;
  sound.header_comment = document.header_comment;
  for (std::size_t i = 0; i < document.nodes.size(); ++i) {
    const auto first = std::ranges::lower_bound(wrong, document.nodes[i].place.line);
    const bool last = i + 1 == document.nodes.size();
    const bool faulty = first != wrong.end() && (last || *first < document.nodes[i + 1].place.line);
    if (!faulty) sound.nodes.push_back(document.nodes[i]);
  }
  return sound;
}

// All that is wrong in one run: a fault in one message hides none in another.
void report_the_rest(SignalText& read) {
  Document sound = without_faulty(read.document, read.diagnostics);
  const Built built = build_map(sound);
  append(read.diagnostics, built.diagnostics);
  sound = without_faulty(sound, built.diagnostics);
  append(read.diagnostics, verify_map(sound, build_map(sound).map));
}

}  // namespace

SignalText read_signals(std::string_view text) {
  Parsed parsed = parse_document(text);
  SignalText read;
  read.document = std::move(parsed.document);
  read.diagnostics = std::move(parsed.diagnostics);
  if (has_errors(read.diagnostics)) {
    report_the_rest(read);
    return read;
  }
  Built built = build_map(read.document);
  read.map = std::move(built.map);
  append(read.diagnostics, built.diagnostics);
  if (has_errors(built.diagnostics)) {
    const Document sound = without_faulty(read.document, built.diagnostics);
    append(read.diagnostics, verify_map(sound, build_map(sound).map));
    return read;
  }
  append(read.diagnostics, verify_map(read.document, read.map));
  return read;
}

}  // namespace foundling
