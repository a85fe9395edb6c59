#include "tools/shown_streams.h"

#include <unistd.h>

#include <algorithm>
#include <array>
#include <iostream>
#include <streambuf>
#include <utility>

#include "schemas/values/shown_text.h"
#include "schemas/values/utf8.h"
#include "tools/terminal.h"

namespace foundling {
namespace {

// No branch within, so that the compiler looks at many bytes at once: decoding writes megabytes.
bool is_plain(std::string_view text) {
  unsigned odd = 0;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    odd |= static_cast<unsigned>(byte < 0x20 && byte != '\n' && byte != '\t') |
           static_cast<unsigned>(byte >= 0x7F);
  }
  return odd == 0;
}

// How many bytes at the end could be the beginning of a character whose rest is still to come.
std::size_t open_end(std::string_view text) {
  for (std::size_t back = 1; back <= std::min<std::size_t>(3, text.size()); ++back) {
    const auto byte = static_cast<unsigned char>(text[text.size() - back]);
    if (byte < 0x80) return 0;
    if (byte < 0xC0) continue;
    const std::size_t wanted = byte < 0xE0 ? 2U : byte < 0xF0 ? 3U : 4U;
    return byte < 0xF5 && wanted > back ? back : 0;
  }
  return 0;
}

// Without a buffer of its own, but for a character that came in pieces.
class Door : public std::streambuf {
 public:
  explicit Door(std::ostream& stream) : stream_(stream), behind_(stream.rdbuf(this)) {}
  ~Door() override {
    put(shown_lines(open_));
    stream_.rdbuf(behind_);
  }
  bool put(std::string_view text) {
    const auto size = static_cast<std::streamsize>(text.size());
    return behind_->sputn(text.data(), size) == size;
  }

 protected:
  std::streamsize xsputn(const char* text, std::streamsize size) override {
    const std::string_view all(text, static_cast<std::size_t>(size));
    const bool good = open_.empty() && is_plain(all) ? put(all) : put_shown(all);
    return good ? size : 0;
  }
  int_type overflow(int_type c) override {
    if (traits_type::eq_int_type(c, traits_type::eof())) return traits_type::not_eof(c);
    const char one = traits_type::to_char_type(c);
    return xsputn(&one, 1) == 1 ? c : traits_type::eof();
  }
  int sync() override { return behind_->pubsync(); }

 private:
  bool put_shown(std::string_view text) {
    std::string all = std::exchange(open_, {}) + std::string(text);
    const std::size_t open = open_end(all);
    open_ = all.substr(all.size() - open);
    all.resize(all.size() - open);
    return put(with_terminal_codes(all, shown_lines));
  }

  std::ostream& stream_;
  std::streambuf* behind_;
  std::string open_;
};

Door*& output_door() {
  static Door* door = nullptr;
  return door;
}

}  // namespace

struct ShownStreams::Doors {
  Door out{std::cout}, err{std::cerr};
};

ShownStreams::ShownStreams() : doors_(std::make_unique<Doors>()) { output_door() = &doors_->out; }
ShownStreams::~ShownStreams() { output_door() = nullptr; }

void put_exactly(std::string_view text) {
  if (output_door() == nullptr || is_terminal(STDOUT_FILENO)) {
    std::cout << text;
  } else if (!output_door()->put(text)) {
    std::cout.setstate(std::ios::badbit);
  }
}

}  // namespace foundling
