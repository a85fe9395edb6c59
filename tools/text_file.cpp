#include "tools/text_file.h"

#include <fcntl.h>
#include <unistd.h>

#include <array>
#include <cerrno>

#include "tools/files/new_file.h"
#include "tools/files/target.h"

namespace foundling {
namespace {

constexpr std::size_t most_bytes = std::size_t{64} << 20U;

class Handle {
 public:
  explicit Handle(int number) : number_(number) {}
  Handle(const Handle&) = delete;
  Handle& operator=(const Handle&) = delete;
  ~Handle() {
    if (number_ > STDERR_FILENO) ::close(number_);
  }
  [[nodiscard]] int get() const { return number_; }

 private:
  int number_;
};

}  // namespace

Result<std::string> read_text_file(const std::string& path) {
  const Handle file(path == "-" ? STDIN_FILENO : ::open(path.c_str(), O_RDONLY | O_CLOEXEC));
  if (file.get() < 0) return file_trouble(path, "cannot be opened");
  std::string text;
  std::array<char, 65536> buffer{};
  while (true) {
    const ssize_t got = ::read(file.get(), buffer.data(), buffer.size());
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) return file_trouble(path, "cannot be read");
    if (got == 0) return text;
    text.append(buffer.data(), static_cast<std::size_t>(got));
    if (text.size() > most_bytes) {
      return Error{ErrorCode::format, path + ": larger than 64 MB, so it is not what belongs here"};
    }
  }
}

Result<void> replace_text_file(const std::string& path, std::string_view text) {
  auto file = NewFile::begin(path, NewFile::Over::other_files);
  if (!file) return file.error();
  if (auto done = file->write(text); !done) return done;
  return file->finish();
}

}  // namespace foundling
