#include "tools/map_update.h"

#include <array>
#include <filesystem>

#include "schemas/signals/format.h"
#include "schemas/signals/merge.h"
#include "schemas/signals/parse.h"
#include "schemas/signals/verify.h"
#include "schemas/signals/write.h"
#include "tools/files/target.h"
#include "tools/signal_file.h"
#include "tools/text_file.h"

namespace foundling {

// Of a merge of maps without faults: only the limits of a map's size are left.
Error too_large(const std::string& path) {
  return {ErrorCode::format, path + ": merged it would be larger than a map may be (" +
                                 std::to_string(most_lines) +
                                 " lines, series spread out); nothing was done"};
}

void report_merge(const std::vector<MergeNote>& notes, const std::string& path,
                  std::ostream& messages) {
  constexpr std::array<const char*, 4> words{" added", " updated", " agree", " contradict"};
  std::array<int, 4> count{};
  for (const MergeNote& note : notes) {
    ++count[static_cast<std::size_t>(note.kind)];
    if (note.kind == MergeNote::Kind::contradicted) {
      messages << path << ": " << note.name << ": " << note.text << '\n';
    }
  }
  std::string said;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (count[i] == 0) continue;
    said += (said.empty() ? "" : ", ") + std::to_string(count[i]) + words[i];
  }
  messages << path << ": " << (said.empty() ? "nothing new" : said) << '\n';
}

Result<void> check_map_target(const std::string& path, std::ostream& messages) {
  if (path.empty()) return {};
  std::error_code ignored;
  if (std::filesystem::exists(path, ignored)) {
    const auto file = load_signal_file(path, messages);
    if (!file) return file.error();
  }
  return check_replaceable(path);
}

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
  if (!is_faultless(merged.document)) return too_large(path);
  const std::string text = format(merged.document);
  if (text != file->text) {
    auto written = replace_text_file(path, text);
    if (!written) return written;
  }
  report_merge(merged.notes, path, messages);
  return {};
}

}  // namespace foundling
