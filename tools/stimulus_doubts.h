// What looks like a slip of the keyboard in a reading as typed: a channel that is new and nearly
// called as one that is there, a new word of a state, a decimal comma. Pure but for the asking: on
// a terminal the person is asked, elsewhere it is refused with what was probably meant.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "schemas/values/reading.h"
#include "schemas/values/result.h"

namespace foundling {

struct Doubt {
  std::string problem;               // "channel pack_curent is not in this capture"
  std::optional<std::string> meant;  // what it most likely was to be
  bool may_be_right = true;          // --new, or a person, can say that it is meant so
};

// `known`: the names that are there. Names that differ in a number, or in a part of up to three
// letters (a and b, min and max), are different things and no slip.
[[nodiscard]] std::optional<Doubt> doubt_of_channel(const std::string& name,
                                                    std::span<const std::string> known);
// `known`: the words of this state so far.
[[nodiscard]] std::optional<Doubt> doubt_of_word(const std::string& channel,
                                                 const std::string& word,
                                                 std::span<const std::string> known);
// "12,5A" for 12.5A.
[[nodiscard]] std::optional<Doubt> doubt_of_number(const std::string& value);

// The text to go on with: `typed`, or what was meant. An error: nothing is to be written.
// `is_new`: the person has said beforehand that it is.
Result<std::string> settle_doubt(const std::optional<Doubt>& doubt, const std::string& typed,
                                 bool is_new);

}  // namespace foundling
