// Where else a row of alike fields may go on. Bits do not always tell where a number ends: coarse
// codes without noise fall apart, neighbours that move together are joined. Most fields of a row
// have one width and order, so every other place of that width whose level is theirs may be one of
// them, whatever was found there. Which of them are is for a relation to say.
#pragma once

#include <span>
#include <vector>

#include "decoder/analysis/survey.h"
#include "decoder/relate/fields.h"
#include "schemas/values/frame.h"

namespace foundling::relate {

// Such places beside `fields`; they overlap with these and with each other.
[[nodiscard]] std::vector<Field> other_cuts(std::span<const MessageSeries> messages,
                                            const Survey& survey, std::span<const Field> fields);

}  // namespace foundling::relate
