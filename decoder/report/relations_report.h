// Relations among the fields of one session as text for a terminal and as JSON
// ("foundling-relations", schemas/relations.schema.json).
#pragma once

#include <string>
#include <vector>

#include "decoder/draft/relation_doubts.h"
#include "decoder/relate/relate.h"
#include "decoder/report/paragraph.h"

namespace foundling {

struct RelationsSource {  // what was looked at
  std::string capture;    // file name
  std::int64_t session = 1;
  std::string unit_channels;  // channels in V that have readings, with commas; empty: none
  std::string map;            // file name of the map that was checked; empty: none
  RelationDoubts doubts = {};
};

[[nodiscard]] std::string relations_text(const relate::Relations& found,
                                         const RelationsSource& source,
                                         std::size_t width = line_width);
[[nodiscard]] std::string relations_json(const relate::Relations& found,
                                         const RelationsSource& source);

// What is open and what to do next, a sentence each.
[[nodiscard]] std::vector<std::string> relations_advice(const relate::Relations& found,
                                                        const RelationsSource& source);

}  // namespace foundling
