// Where the lines come from that a person types during a bench run: a terminal, where a line is
// edited below the text that goes on above it, or a script (a file, or what is piped in).
//
// A script is read line by line, one where a person would be asked. An empty line is Enter, `#` in
// front makes a comment. A line that begins with "hold:" is typed while a step is held.
#pragma once

#include <chrono>
#include <memory>
#include <optional>
#include <string>

#include "schemas/values/result.h"

namespace foundling {

struct RunLine {
  std::string text;   // without blanks around
  std::string place;  // "run.script:12"; empty at a terminal
};

class RunInput {
 public:
  using Deadline = std::chrono::steady_clock::time_point;

  RunInput() = default;
  RunInput(const RunInput&) = delete;
  RunInput& operator=(const RunInput&) = delete;
  virtual ~RunInput() = default;

  // `script`: empty: stdin, a terminal or not.
  static Result<std::unique_ptr<RunInput>> open(const std::string& script);

  // Waits for a line. An error when there will be none: the script's end, a hang-up, a signal.
  virtual Result<RunLine> ask(const std::string& prompt) = 0;
  // A line that is typed meanwhile; nothing once `until` has come. `prompt` is shown where it can
  // be renewed.
  virtual Result<std::optional<RunLine>> meanwhile(const std::string& prompt, Deadline until) = 0;
  // Prints a whole line, above the one that is being typed.
  virtual void say(const std::string& line) = 0;
  [[nodiscard]] virtual bool is_script() const = 0;
};

// A command's whole word, or its first letter.
[[nodiscard]] bool is_typed(const std::string& typed, const std::string& word);

// Asks for a plain yes, for what a person must have read before. False: quit.
[[nodiscard]] Result<bool> ask_for_yes(RunInput& input);

}  // namespace foundling
