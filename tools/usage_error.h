// What to tell a person whose command line was not understood: the command, what is wrong, and for
// an unknown word the known one that was most likely meant.
#pragma once

#include <string>

namespace CLI {
class App;
class ParseError;
}  // namespace CLI

namespace foundling {

// `app` after its parse threw `problem`. Whole lines, for stderr.
[[nodiscard]] std::string explain_usage_error(const CLI::App& app, const CLI::ParseError& problem);

}  // namespace foundling
