// The one way in which a file is written: under a random name beside its place, synced, and then
// named in one step. At every moment, also of a kill or a power cut, the name stands for the old
// file or for the whole new one. Keeps the old one's permissions; never goes over recorded data.
#pragma once

#include <string>
#include <string_view>

#include "schemas/values/result.h"
#include "tools/files/unfinished.h"

namespace foundling {

class NewFile {
 public:
  enum class Over {
    other_files,  // what is there is replaced, unless it is recorded data
    nothing,      // a name that is taken is refused
  };
  static Result<NewFile> begin(const std::string& path, Over over);

  [[nodiscard]] Result<void> write(std::string_view bytes);
  [[nodiscard]] Result<void> finish();  // without it, nothing has happened

 private:
  NewFile(std::string path, std::string target, Over over, Unfinished unfinished);

  std::string path_;  // as a person gave it
  std::string target_;
  Over over_;
  Unfinished unfinished_;
};

}  // namespace foundling
