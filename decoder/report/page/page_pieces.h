// The pieces of the page's data, one a section of the page. For this folder's own sources only.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "decoder/report/page/extremes.h"
#include "decoder/report/page/page_input.h"
#include "schemas/signals/field.h"

namespace foundling::page {

using Json = nlohmann::ordered_json;

// A figure with seven significant digits: more than a plot shows. Null where it is not finite.
[[nodiscard]] Json figure_json(double value);
[[nodiscard]] double seconds(std::int64_t t_ns);

[[nodiscard]] Json source_json(const PageInput& input);
[[nodiscard]] Json buses_json(const PageInput& input);  // load and frames over time, losses
[[nodiscard]] Json messages_json(const PageInput& input, const std::vector<Field>& fields);
[[nodiscard]] Json findings_json(const PageInput& input);  // ambiguous sets, advice, left over
[[nodiscard]] Json check_json(const PageCheck& check);
[[nodiscard]] Json against_json(const PageInput& input);  // null: nothing was compared
[[nodiscard]] Json sanity_json(const PageInput& input);

// A signal or stimulus whose series is still to be packed.
struct Drawn {
  explicit Drawn(std::size_t buckets) : values(buckets) {}
  Extremes values;
  double base = 0;
  double step = 0;  // 0: whatever fits the range
};

// Facts in `json`, one object each; series in `drawn`, in the same order.
struct Section {
  std::vector<Json> json;
  std::vector<Drawn> drawn;
};

[[nodiscard]] Section stimuli_section(const PageInput& input, const Grid& grid);
[[nodiscard]] Section signals_section(const PageInput& input, const std::vector<Field>& fields,
                                      const Grid& grid);

}  // namespace foundling::page
