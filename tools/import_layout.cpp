#include "tools/import_layout.h"

#include <unistd.h>

#include <iostream>

#include "schemas/values/shell_word.h"
#include "tools/exchange/frame_file.h"
#include "tools/exchange/layout/layout_shown.h"
#include "tools/terminal.h"

namespace foundling {
namespace {

// True: the person says yes. At the end of the input no.
bool is_confirmed(const std::string& other) {
  for (;;) {
    std::cerr << "Import it so? y: yes, Enter: no, nothing is written: " << std::flush;
    std::string line;
    if (!std::getline(std::cin, line) || line.empty() || line == "n" || line == "no") {
      std::cerr << "To say it otherwise, change this and type it:\n  " << other << '\n';
      return false;
    }
    if (line == "y" || line == "yes") return true;
  }
}

Result<void> confirm(const std::string& shown, const std::string& line) {
  std::cerr << shown;
  if (is_terminal(STDIN_FILENO) && is_terminal(STDERR_FILENO)) {
    if (is_confirmed(line)) return {};
    return Error{ErrorCode::usage, "nothing was written"};
  }
  return Error{ErrorCode::usage,
               "the layout above was guessed; if it is right, confirm it with\n  " + line};
}

template <typename Layout, typename Parse, typename Guess, typename Words>
Result<std::optional<Layout>> settle(const std::filesystem::path& path, const std::string& said,
                                     const std::string& command, const std::string& option,
                                     Parse parse, Guess guess_layout, Words words_of) {
  if (!said.empty()) {
    auto layout = parse(said);
    // The message begins with "layout: ".
    if (!layout) return Error{layout.error().code, option + layout.error().message.substr(6)};
    return std::optional<Layout>(std::move(layout).value());
  }
  if (!is_csv_file(path) || has_own_heading(path)) return std::optional<Layout>();
  const auto guess = guess_layout(path);
  if (!guess) return guess.error();
  const auto shown = shown_guess(path, *guess);
  const std::string words = words_of(guess->layout);
  if (!shown) {
    return Error{shown.error().code, shown.error().message + "\nit was read as '" + words + "'; " +
                                         option + " says it otherwise"};
  }
  if (auto yes = confirm(*shown, command + ' ' + option + ' ' + shell_word(words)); !yes) {
    return yes.error();
  }
  return std::optional<Layout>(guess->layout);
}

}  // namespace

Result<std::optional<FramesLayout>> settle_frames_layout(const std::filesystem::path& path,
                                                         const std::string& said,
                                                         const std::string& command) {
  return settle<FramesLayout>(path, said, command, "--frames-layout", parse_frames_layout,
                              guess_frames_layout, frames_layout_words);
}

Result<std::optional<ReadingsLayout>> settle_readings_layout(const std::filesystem::path& path,
                                                             const std::string& said,
                                                             const std::string& command) {
  return settle<ReadingsLayout>(path, said, command, "--stimulus-layout", parse_readings_layout,
                                guess_readings_layout, readings_layout_words);
}

}  // namespace foundling
