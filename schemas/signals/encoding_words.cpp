#include "schemas/signals/encoding_words.h"

#include <array>

namespace foundling {

std::span<const std::string> encoding_words() {
  static const std::array<std::string, 6> words{"unsigned",       "signed",          "float",
                                                "sign-magnitude", "ones-complement", "bcd"};
  return words;
}

const std::string& to_string(Encoding encoding) {
  return encoding_words()[static_cast<std::size_t>(encoding)];
}

bool has_sign(Encoding encoding) {
  return encoding == Encoding::signed_integer || encoding == Encoding::sign_magnitude ||
         encoding == Encoding::ones_complement;
}

}  // namespace foundling
