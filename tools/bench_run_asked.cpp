#include "tools/bench_run_asked.h"

namespace foundling {

void AskedSince::ask(const std::vector<std::string>& channels, std::int64_t now_ns) {
  for (const std::string& channel : channels) since_.try_emplace(channel, now_ns);
}

void AskedSince::answer(std::vector<RunEntry>& entries) {
  for (RunEntry& entry : entries) {
    const auto asked = since_.find(entry.channel.name);
    if (asked == since_.end()) continue;
    entry.asked_ns = asked->second;
    since_.erase(asked);
  }
}

void AskedSince::take_back(const std::vector<RunEntry>& entries) {
  for (const RunEntry& entry : entries) {
    if (entry.asked_ns != Reading::no_time) since_[entry.channel.name] = entry.asked_ns;
  }
}

void AskedSince::forget(const std::vector<std::string>& channels) {
  for (const std::string& channel : channels) since_.erase(channel);
}

}  // namespace foundling
