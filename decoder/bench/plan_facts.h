// Reads the single facts of a bench plan from a line whose keyword has been taken. Each reports
// what it expected where and then says false.
#pragma once

#include <span>
#include <string>
#include <string_view>

#include "decoder/bench/plan.h"
#include "schemas/signals/line_reader.h"

namespace foundling::bench {

// Keywords in the order in which a plan is laid out.
[[nodiscard]] std::span<const std::string> plan_keywords();
[[nodiscard]] std::span<const std::string> channel_keywords();
[[nodiscard]] std::span<const std::string> step_keywords();

bool read_plan_fact(LineReader& reader, std::string_view keyword, Plan& plan);
bool read_channel_head(LineReader& reader, bool series, PlanChannel& channel);
bool read_channel_fact(LineReader& reader, std::string_view keyword, PlanChannel& channel);
bool read_setting(LineReader& reader, Setting& setting);
bool read_duration(LineReader& reader, std::optional<double>& seconds);

}  // namespace foundling::bench
