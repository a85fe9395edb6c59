#include "tools/map_update.h"

#include <array>
#include <filesystem>

#include "schemas/signals/format.h"
#include "schemas/signals/merge.h"
#include "schemas/signals/write.h"
#include "tools/signal_file.h"
#include "tools/text_file.h"

namespace foundling {
namespace {

void report(const std::vector<MergeNote>& notes, const std::string& path, std::ostream& messages) {
  std::array<int, 4> count{};
  for (const MergeNote& note : notes) {
    ++count[static_cast<std::size_t>(note.kind)];
    if (note.kind == MergeNote::Kind::contradicted) {
      messages << path << ": " << note.name << ": " << note.text << '\n';
    }
  }
  messages << path << ": " << count[0] << " added, " << count[1] << " updated, " << count[2]
           << " agree, " << count[3] << " contradict\n";
}

}  // namespace

Result<void> update_map_file(const std::string& path, const SignalMap& findings,
                             std::ostream& messages) {
  std::error_code ignored;
  if (!std::filesystem::exists(path, ignored)) {
    auto written = replace_text_file(path, write_signals(findings));
    if (written) messages << path << ": written\n";
    return written;
  }
  const auto file = load_signal_file(path, messages);
  if (!file) return file.error();
  const Merged merged = merge_findings(file->read.document, findings);
  auto written = replace_text_file(path, format(merged.document));
  if (written) report(merged.notes, path, messages);
  return written;
}

}  // namespace foundling
