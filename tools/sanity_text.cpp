#include "tools/sanity_text.h"

#include <algorithm>

#include "decoder/report/text_table.h"
#include "tools/terminal.h"
#include "tools/text_width.h"
#include "tools/value_text.h"

namespace foundling {
namespace {

std::string rounded_seconds(std::int64_t t_ns) {
  constexpr std::int64_t tenth = 100'000'000;
  return seconds_text(t_ns / tenth * tenth) + " s";
}

}  // namespace

std::string sanity_text(std::span<const SanityCheck> checks, int file) {
  if (checks.empty()) return {};
  const auto failed =
      std::ranges::count_if(checks, [](const SanityCheck& c) { return c.failed > 0; });
  const std::string all = std::to_string(checks.size());
  const std::string tail = std::string(". ") + std::string(sanity_is_no_protection) + '\n';
  if (failed == 0) return "sanity watch: all " + all + " checks passed" + tail;
  TextTable table({{"  check"}, {"failed", true}, {"of"}, {"first"}, {"last"}}, text_width(file));
  for (const SanityCheck& check : checks) {
    if (check.failed == 0) continue;
    table.add({"  " + std::string(to_string(check.kind)),
               std::to_string(check.failed) + "/" + std::to_string(check.looked), check.subject,
               rounded_seconds(check.first_ns), rounded_seconds(check.last_ns)});
    table.add_line(check.text);
  }
  return coloured(file, Colour::red,
                  "sanity watch: " + std::to_string(failed) + " of " + all + " checks failed") +
         tail + table.text();
}

}  // namespace foundling
