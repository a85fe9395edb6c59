// Standard output and error behind the door of schemas/values/shown_text.h: whatever a capture, a
// map or a network brought, only text that shows itself comes out, in a pipe as on a terminal. What
// this program itself asks of a terminal passes under a key that no file can know.
#pragma once

#include <memory>
#include <string>
#include <string_view>

namespace foundling {

class ShownStreams {
 public:
  ShownStreams();  // from here on for std::cout and std::cerr
  ShownStreams(const ShownStreams&) = delete;
  ShownStreams& operator=(const ShownStreams&) = delete;
  ~ShownStreams();  // as they were

 private:
  struct Doors;
  std::unique_ptr<Doors> doors_;
};

// On standard output to the byte where that is a file or a pipe: a signal map or a plan that is to
// be read again. On a terminal shown as all else.
void put_exactly(std::string_view text);

}  // namespace foundling
