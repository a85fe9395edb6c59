// The fields of a session, told from the frames alone: which bits of each message (of each of its
// pages) move together as one number, by their carries and by how often they flip. What the survey
// explains (counters, checksums, selectors) belongs to none. Constant bits right above a field are
// taken in, since a level needs them; differences do not.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "decoder/analysis/proposal.h"
#include "decoder/analysis/survey.h"
#include "schemas/values/frame.h"

namespace foundling::relate {

struct Field {
  FieldPlace place;           // with the constant bits above it
  std::size_t message = 0;    // index of its message
  int moved_bits = 0;         // from the highest that moved down to the lowest
  bool is_signed = false;     // reads more evenly so
  bool is_other_cut = false;  // another cut of bits that other fields have (other_cuts.h)
  double period_s = 0;        // between the frames that have it, on average
  double silence_s = 0;       // usual one between them (silences.h)
  bool sent_on_change = false;
  double noise = 0;  // standard deviation of a single frame about its neighbours, codes
  double level = 0;  // the middle code
  std::vector<std::uint32_t> rows;  // of its message
};

// Of a message's frames those on `page`, all of them without one.
[[nodiscard]] std::vector<std::uint32_t> rows_on(const MessageSeries& message,
                                                 const std::optional<Page>& page);

// The field's code in each of its rows; not a number where it is all ones, which says "not
// available" more often than a value.
[[nodiscard]] std::vector<double> codes_of(const MessageSeries& message, const Field& field);

// Whether two fields have bits in common, which only other cuts have.
[[nodiscard]] bool share_bits(const Field& a, const Field& b);

// One a bit in order of the wire: what the survey explains.
[[nodiscard]] std::vector<bool> explained_bits(const MessageSeries& message,
                                               const MessageSurvey& known);

// Fills in sign, level and noise.
void measure(const MessageSeries& message, Field& field);

[[nodiscard]] std::vector<Field> find_fields(std::span<const MessageSeries> messages,
                                             const Survey& survey);

}  // namespace foundling::relate
