// Signal maps as files: read with their diagnostics shown, and told apart from captures by content.
#pragma once

#include <iosfwd>
#include <string>

#include "schemas/signals/read.h"
#include "schemas/values/result.h"

namespace foundling {

struct SignalFile {
  std::string path;
  std::string text;
  SignalText read;
};

// The file read; faults of the map are in read.diagnostics. An error only where there is no text.
[[nodiscard]] Result<SignalFile> read_signal_file(const std::string& path);

// The same, with diagnostics written to `messages`, and an error where the map has faults.
[[nodiscard]] Result<SignalFile> load_signal_file(const std::string& path, std::ostream& messages);

struct CaptureAndMap {
  std::string capture;
  std::string map;
};

// Whichever order they were given in. Looks at their first bytes.
[[nodiscard]] Result<CaptureAndMap> tell_apart(const std::string& one, const std::string& other);

}  // namespace foundling
