// The program on files of a scratch folder, for tests of `foundling bench`.
#pragma once

#include <cstdlib>
#include <string>

#include "tests/scratch_folder.h"
#include "tests/tools/files.h"

namespace foundling {

struct BenchFolder {
  ScratchFolder folder;
  struct Ran {
    int status = -1;
    std::string out, err;
  };
  // `words` stand behind the program's name, for the shell.
  [[nodiscard]] Ran run(const std::string& words) const {
    const std::string line = "cd '" + folder.path().string() + "' && '" FOUNDLING_PROGRAM "' " +
                             words + " >out.txt 2>err.txt";
    const int status = std::system(line.c_str());
    return {WEXITSTATUS(status), get(folder / "out.txt"), get(folder / "err.txt")};
  }
};

inline bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

}  // namespace foundling
