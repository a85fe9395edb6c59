// How far long work has come: one line on stderr that is replaced, with a bar where the end is
// known. Says nothing where stderr is no terminal, and nothing in the first moment.
#pragma once

#include <chrono>
#include <string>

namespace foundling {

class Progress {
 public:
  Progress();
  ~Progress() { done(); }
  Progress(const Progress&) = delete;
  Progress& operator=(const Progress&) = delete;

  void say(const std::string& text);
  // `share` from 0 to 1; cheap enough to be called often.
  void show(double share, const std::string& text);
  // Takes the line away.
  void done();
  [[nodiscard]] bool watched() const { return watched_; }

 private:
  void put(const std::string& line);

  bool watched_;
  bool shown_ = false;
  std::chrono::steady_clock::time_point next_;
};

// "[#####.....]  52 %  text", at most `width` characters (ASCII).
[[nodiscard]] std::string progress_line(double share, const std::string& text, int width);

}  // namespace foundling
