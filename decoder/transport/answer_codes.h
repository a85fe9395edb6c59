// What the code of a refused request means, ISO 14229-1, in words of the trade.
#pragma once

#include <cstdint>
#include <string>

namespace foundling {

[[nodiscard]] std::string answer_code_words(std::uint8_t code);

}  // namespace foundling
