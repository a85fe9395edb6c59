#include "tools/bench_run_input.h"

#include <poll.h>
#include <termios.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <fstream>
#include <iostream>
#include <vector>

#include "tools/stop_signal.h"
#include "tools/terminal.h"

namespace foundling {
namespace {

Error ended(std::string why) { return {ErrorCode::io, std::move(why)}; }

std::string trimmed(std::string text) {
  const auto blank = [](char c) { return c == ' ' || c == '\t' || c == '\r'; };
  while (!text.empty() && blank(text.back())) text.pop_back();
  text.erase(0, static_cast<std::size_t>(std::find_if_not(text.begin(), text.end(), blank) -
                                         text.begin()));
  return text;
}

int milliseconds_to(RunInput::Deadline until) {
  const auto left =
      std::chrono::ceil<std::chrono::milliseconds>(until - std::chrono::steady_clock::now());
  return static_cast<int>(std::clamp<std::int64_t>(left.count(), 0, 3'600'000));
}

class ScriptInput final : public RunInput {
 public:
  ScriptInput(std::istream& in, const std::string& name) : name_(name) {
    int number = 0;
    for (std::string line; std::getline(in, line);) {
      ++number;
      line = trimmed(line);
      if (line.empty() || line.front() != '#') {
        lines_.push_back({line, name + ':' + std::to_string(number)});
      }
    }
  }

  Result<RunLine> ask(const std::string& prompt) override {
    if (next_ == lines_.size())
      return ended(name_ + ": the script ends here; asked was: " + prompt);
    const RunLine line = lines_[next_++];
    say(prompt + ' ' + line.text);
    return line;
  }
  Result<std::optional<RunLine>> meanwhile(const std::string&, Deadline until) override {
    constexpr std::string_view mark = "hold:";
    if (next_ < lines_.size() && lines_[next_].text.compare(0, mark.size(), mark) == 0) {
      RunLine line = lines_[next_++];
      line.text = trimmed(line.text.substr(mark.size()));
      say("> " + line.text);
      return std::optional(line);
    }
    while (!stop_asked() && std::chrono::steady_clock::now() < until) {
      poll(nullptr, 0, milliseconds_to(until));
    }
    if (stop_asked()) return ended("stopped");
    return std::optional<RunLine>();
  }
  void say(const std::string& line) override { std::cout << line << std::endl; }
  [[nodiscard]] bool is_script() const override { return true; }

 private:
  const std::string name_;
  std::vector<RunLine> lines_;
  std::size_t next_ = 0;
};

// The terminal gives every key as it comes, and this shows them: so the line that is being typed
// survives what is said meanwhile, over SSH and in a multiplexer as well.
class TerminalInput final : public RunInput {
 public:
  TerminalInput() {
    watch_stop_signals();
    tcgetattr(STDIN_FILENO, &before_);
    termios keys = before_;
    keys.c_lflag &= ~static_cast<tcflag_t>(ICANON | ECHO);
    keys.c_cc[VMIN] = 1;
    keys.c_cc[VTIME] = 0;
    tcsetattr(STDIN_FILENO, TCSADRAIN, &keys);
  }
  ~TerminalInput() override { tcsetattr(STDIN_FILENO, TCSADRAIN, &before_); }

  Result<RunLine> ask(const std::string& prompt) override {
    for (;;) {
      auto line = meanwhile(prompt, std::chrono::steady_clock::now() + std::chrono::hours(1));
      if (!line) return line.error();
      if (*line) return **line;
    }
  }
  Result<std::optional<RunLine>> meanwhile(const std::string& prompt, Deadline until) override {
    prompt_ = prompt;
    show();
    for (;;) {
      if (stop_asked()) return leave("stopped");
      pollfd keys{STDIN_FILENO, POLLIN, 0};
      const int ready = poll(&keys, 1, milliseconds_to(until));
      if (ready < 0 && errno == EINTR) continue;
      if (ready == 0) return std::optional<RunLine>();  // the line stays for the next call
      char key = 0;
      const ssize_t count = read(STDIN_FILENO, &key, 1);
      if (count <= 0) return leave("the terminal is gone");
      if (key == 4 && typed_.empty()) return leave("left");  // Ctrl-D
      if (key != '\n' && key != '\r') {
        take(key);
        continue;
      }
      std::cout << '\n' << std::flush;
      return std::optional(RunLine{trimmed(std::exchange(typed_, {})), ""});
    }
  }
  void say(const std::string& line) override {
    std::cout << line_anew() << line << '\n';
    std::cout << std::flush;
  }
  [[nodiscard]] bool is_script() const override { return false; }

 private:
  Error leave(const char* why) {
    std::cout << '\n' << std::flush;
    return ended(why);
  }
  void take(char key) {
    const auto byte = static_cast<unsigned char>(key);
    if (key == 127 || key == 8) {
      // A character of several bytes goes as one.
      while (!typed_.empty() && (static_cast<unsigned char>(typed_.back()) & 0xC0U) == 0x80U) {
        typed_.pop_back();
      }
      if (!typed_.empty()) typed_.pop_back();
    } else if (key == 21) {  // Ctrl-U
      typed_.clear();
    } else if (byte >= 32 && typed_.size() < 1000) {
      typed_ += key;
    }
    show();
  }
  // On one line of the terminal: a longer one would leave its upper part behind each time.
  void show() const {
    const auto width = static_cast<std::size_t>(std::max(20, terminal_width(STDOUT_FILENO, 80)));
    std::string line = prompt_ + ' ' + typed_;
    if (line.size() + 1 > width) line = "..." + line.substr(line.size() + 4 - width);
    std::cout << line_anew() << line << std::flush;
  }

  termios before_{};
  std::string prompt_, typed_;
};

}  // namespace

Result<std::unique_ptr<RunInput>> RunInput::open(const std::string& script) {
  if (!script.empty()) {
    std::ifstream file(script, std::ios::binary);
    if (!file) return Error{ErrorCode::not_found, script + ": cannot be read"};
    return std::unique_ptr<RunInput>(std::make_unique<ScriptInput>(file, script));
  }
  if (isatty(STDIN_FILENO) == 0) {
    return std::unique_ptr<RunInput>(std::make_unique<ScriptInput>(std::cin, "stdin"));
  }
  return std::unique_ptr<RunInput>(std::make_unique<TerminalInput>());
}

bool is_typed(const std::string& typed, const std::string& word) {
  return typed == word || (typed.size() == 1 && typed[0] == word[0]);
}

Result<bool> ask_for_yes(RunInput& input) {
  for (;;) {
    const auto line = input.ask("Type yes to go on:");
    if (!line) return line.error();
    if (line->text == "yes") return true;
    if (is_typed(line->text, "quit") || line->text == "no") return false;
    if (input.is_script()) {
      return Error{ErrorCode::usage,
                   line->place + ": error: expected yes, found \"" + line->text + '"'};
    }
  }
}

}  // namespace foundling
