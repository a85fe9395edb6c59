#include "schemas/signals/read.h"

#include "schemas/signals/build.h"
#include "schemas/signals/parse.h"
#include "schemas/signals/verify.h"

namespace foundling {
namespace {

void append(std::vector<Diagnostic>& to, std::vector<Diagnostic> from) {
  to.insert(to.end(), from.begin(), from.end());
}

}  // namespace

SignalText read_signals(std::string_view text) {
  Parsed parsed = parse_document(text);
  SignalText read;
  read.document = std::move(parsed.document);
  read.diagnostics = std::move(parsed.diagnostics);
  // A tree with holes would only report what follows from them.
  if (has_errors(read.diagnostics)) return read;
  Built built = build_map(read.document);
  read.map = std::move(built.map);
  append(read.diagnostics, std::move(built.diagnostics));
  if (has_errors(read.diagnostics)) return read;
  append(read.diagnostics, verify_map(read.document, read.map));
  return read;
}

}  // namespace foundling
