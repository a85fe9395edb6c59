// A number in a message: the shortest digits that read back as it.
#pragma once

#include <array>
#include <charconv>
#include <string>

namespace foundling {

[[nodiscard]] inline std::string number_words(double number) {
  std::array<char, 32> text{};
  const auto [end, failure] = std::to_chars(text.data(), text.data() + text.size(), number);
  return failure == std::errc{} ? std::string(text.data(), end) : "?";
}

}  // namespace foundling
