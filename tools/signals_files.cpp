#include "tools/signals_files.h"

#include <iostream>
#include <nlohmann/json.hpp>
#include <vector>

#include "schemas/signals/compare.h"
#include "schemas/signals/format.h"
#include "schemas/signals/merge.h"
#include "schemas/signals/merge_maps.h"
#include "schemas/signals/verify.h"
#include "tools/command.h"
#include "tools/map_update.h"
#include "tools/shown_streams.h"
#include "tools/signal_file.h"
#include "tools/signals_json.h"
#include "tools/text_file.h"

namespace foundling {
namespace {

int fail(const Error& error) {
  std::cerr << "foundling signals: error: " << error.message << '\n';
  return exit_trouble;
}

std::string changes_json(const std::vector<MapChange>& changes) {
  nlohmann::json items = nlohmann::json::array();
  for (const MapChange& change : changes) {
    const char* kind = change.kind == MapChange::Kind::added     ? "added"
                       : change.kind == MapChange::Kind::removed ? "removed"
                       : change.kind == MapChange::Kind::renamed ? "renamed"
                                                                 : "changed";
    const auto said = [](const std::string& text) {
      return text.empty() ? nlohmann::json(nullptr) : nlohmann::json(text);
    };
    items.push_back({{"kind", kind},
                     {"subject", change.subject},
                     {"what", said(change.what)},
                     {"before", said(change.before)},
                     {"after", said(change.after)}});
  }
  return nlohmann::json{{"format", "foundling-map-changes"}, {"version", 1}, {"changes", items}}
             .dump(2, ' ', false, nlohmann::json::error_handler_t::replace) +
         '\n';
}

// Version control hands over an empty file where there is no common map.
Result<Document> load_base(const std::string& path) {
  if (path.empty()) return Document{};
  const auto text = read_text_file(path);
  if (!text) return text.error();
  if (text->find_first_not_of(" \t\r\n") == std::string::npos) return Document{};
  auto file = load_signal_file(path, std::cerr);
  if (!file) return file.error();
  return std::move(file->read.document);
}

// Both ways to merge, with what a person has to look at on stderr.
struct Outcome {
  Document document;
  bool conflict = false;
};

Outcome merge_findings_into(const SignalFile& ours, const SignalFile& theirs,
                            const std::string& name) {
  Merged merged = merge_findings(ours.read.document, theirs.read.map);
  report_merge(merged.notes, name, std::cerr);
  return {std::move(merged.document), false};
}

Outcome merge_people(const Document& base, const SignalFile& ours, const SignalFile& theirs,
                     const std::string& name) {
  MergedMaps merged = merge_maps(base, ours.read.document, theirs.read.document);
  for (const MergeRemark& remark : merged.remarks) {
    std::cerr << name << ": " << remark.where << ": " << remark.text << '\n';
  }
  const bool conflict = merged.has_conflicts();
  if (conflict) {
    std::cerr << name << ": has conflicts; look for the comments that begin with '# conflict:'\n";
  }
  return {std::move(merged.document), conflict};
}

}  // namespace

int compare_map_files(const std::string& before, const std::string& after, bool json) {
  const auto old = load_signal_file(before, std::cerr);
  if (!old) return fail(old.error());
  const auto now = load_signal_file(after, std::cerr);
  if (!now) return fail(now.error());
  const std::vector<MapChange> changes = compare_maps(old->read.map, now->read.map);
  if (json) {
    std::cout << changes_json(changes);
  } else {
    for (const MapChange& change : changes) std::cout << to_text(change) << '\n';
    if (changes.empty()) std::cout << "both maps say the same\n";
  }
  return changes.empty() ? exit_good : exit_findings;
}

int merge_map_files(const MergeWanted& wanted) {
  const std::string name = wanted.name.empty() ? wanted.ours : wanted.name;
  const auto base = load_base(wanted.base);
  if (!base) return fail(base.error());
  const auto ours = load_signal_file(wanted.ours, std::cerr);
  if (!ours) return fail(ours.error());
  const auto theirs = load_signal_file(wanted.theirs, std::cerr);
  if (!theirs) return fail(theirs.error());
  const Outcome outcome = wanted.findings ? merge_findings_into(*ours, *theirs, name)
                                          : merge_people(*base, *ours, *theirs, name);
  if (!is_faultless(outcome.document)) return fail(too_large(name));
  const std::string text = format(outcome.document);
  if (!wanted.in_place) {
    put_exactly(text);
  } else if (text != ours->text) {
    const auto written = replace_text_file(wanted.ours, text);
    if (!written) return fail(written.error());
  }
  return outcome.conflict ? exit_findings : exit_good;
}

int map_to_json(const std::string& path) {
  const auto file = load_signal_file(path, std::cerr);
  if (!file) return fail(file.error());
  std::cout << json_of(file->read.document);
  return exit_good;
}

int map_from_json(const std::string& path) {
  const auto text = read_text_file(path);
  if (!text) return fail(text.error());
  const auto document = document_from_json(*text, path);
  if (!document) return fail(document.error());
  put_exactly(format(*document));
  return exit_good;
}

}  // namespace foundling
