// The subcommands of `foundling signals` that take two maps or more, or another form of one. Each
// returns the exit status; messages go to stderr, data to stdout.
#pragma once

#include <string>

namespace foundling {

struct MergeWanted {
  std::string base;  // the map that both began with; empty: none
  std::string ours;
  std::string theirs;
  std::string name;       // what messages call the map; empty: its path
  bool findings = false;  // theirs are a session's new findings
  bool in_place = false;  // rewrite ours instead of writing to stdout
};

[[nodiscard]] int compare_map_files(const std::string& before, const std::string& after, bool json);
[[nodiscard]] int merge_map_files(const MergeWanted& wanted);
[[nodiscard]] int map_to_json(const std::string& path);
[[nodiscard]] int map_from_json(const std::string& path);

}  // namespace foundling
