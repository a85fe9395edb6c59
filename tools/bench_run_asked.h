// Since when a person has been asked to set a channel, until it is written down: it may have been
// so from that moment on, long before Enter. Pure; all times are on the boot clock.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "tools/bench_run_book.h"

namespace foundling {

class AskedSince {
 public:
  // Where one was asked for before, and is not written down yet, that moment stays.
  void ask(const std::vector<std::string>& channels, std::int64_t now_ns);
  // They are about to be written down: each gets its moment.
  void answer(std::vector<RunEntry>& entries);
  // They never were: what is asked for again may be so since it was asked for the first time.
  void take_back(const std::vector<RunEntry>& entries);
  void forget(const std::vector<std::string>& channels);

 private:
  std::map<std::string, std::int64_t, std::less<>> since_;
};

}  // namespace foundling
