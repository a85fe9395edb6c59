// A terminal multiplexer of the test's own in which the program runs as in a person's terminal: a
// person's eye on what it shows, and keys.
#pragma once

#include <array>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <string>
#include <thread>

namespace foundling {

class TmuxHand {
 public:
  // `line` is for the shell; the server, its socket in `folder`, serves nobody else.
  TmuxHand(const std::filesystem::path& folder, const std::string& line)
      : tmux_("env -u TMUX tmux -f /dev/null -S '" + (folder / "tmux").string() + "' ") {
    started_ = call("new-session -d -x 120 -y 50 -c '" + folder.string() + "' \"" + line + "\"");
  }
  ~TmuxHand() { (void)call("kill-server"); }
  TmuxHand(const TmuxHand&) = delete;
  TmuxHand& operator=(const TmuxHand&) = delete;

  [[nodiscard]] bool started() const { return started_; }

  // All lines so far, those that have left the screen too.
  [[nodiscard]] std::string shown() const {
    std::string text;
    FILE* const pipe = popen((tmux_ + "capture-pane -p -J -S - 2>&1").c_str(), "r");
    if (pipe == nullptr) return text;
    std::array<char, 4096> buffer{};
    while (const std::size_t count = fread(buffer.data(), 1, buffer.size(), pipe)) {
      text.append(buffer.data(), count);
    }
    pclose(pipe);
    return text;
  }
  // Whether `words` are shown for the `times`-th time within half a minute.
  [[nodiscard]] bool sees(const std::string& words, int times) const {
    const auto until = std::chrono::steady_clock::now() + std::chrono::seconds(30);
    while (std::chrono::steady_clock::now() < until) {
      int seen = 0;
      const std::string text = shown();
      for (auto at = text.find(words); at != std::string::npos; at = text.find(words, at + 1)) {
        ++seen;
      }
      if (seen >= times) return true;
      std::this_thread::sleep_for(std::chrono::milliseconds(50));
    }
    return false;
  }
  void type(const std::string& text) {
    if (!text.empty()) (void)call("send-keys -l -- '" + text + "'");
    (void)call("send-keys Enter");
  }

 private:
  [[nodiscard]] bool call(const std::string& words) const {
    return std::system((tmux_ + words + " >/dev/null 2>&1").c_str()) == 0;
  }

  std::string tmux_;
  bool started_ = false;
};

}  // namespace foundling
