// A bench plan: what can be moved on the bench, within which limits, and step by step what to set
// and how long to hold it. A plan without steps is what a person writes down for `bench plan` to
// draw from; one with steps is what `bench run` walks through. README.md has the text format.
// Values are in the channel's unit unless said otherwise; times are in seconds.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "schemas/signals/diagnostic.h"

namespace foundling::bench {

inline constexpr double default_hold_s = 10;
inline constexpr double default_settle_s = 3;
inline constexpr double default_set_time_s = 5;
inline constexpr int default_levels = 8;
inline constexpr int default_repeat = 2;
inline constexpr int most_members = 1000;   // of a series
inline constexpr int most_steps = 100'000;  // of a plan

// Comments and blank lines (empty texts) above a line, and the comment behind it.
struct Remark {
  std::vector<std::string> above;
  std::string behind;
};
using Remarks = std::map<std::string, Remark, std::less<>>;  // by keyword; "" the opening line

enum class Moves : std::uint8_t {
  alone,    // each member can be set by itself
  in_sets,  // one source is laid over any set of members at a time, the rest stay at rest
};

struct NumberRange {  // both included
  int first = 0, last = 0;
};

// A channel, or a series of look-alikes with the same limits.
struct PlanChannel {
  std::string name;  // of a series the stem: cell, whose members are cell_01 to cell_28
  std::vector<NumberRange> numbers;  // of the members, upwards
  int digits = 0;                    // of the members' numbers; 0: a single channel
  std::string unit;                  // as in schemas/values/unit.h; "state": words, not numbers
  double low = 0, high = 0;          // limits, both allowed
  std::vector<std::string> words;    // of a state channel
  std::optional<double> rest;        // else `low`, or 0 where that is within the limits
  std::string rest_word;             // else the first word
  std::optional<int> levels;         // how many different values
  std::optional<int> repeat;         // how often each at least
  std::optional<double> settle_s;    // from a setting until board and bench are still
  std::optional<double> set_time_s;  // what a person needs for one setting
  std::optional<double> ramp;        // not faster than this, in units a second
  std::optional<double> jump;        // no further than this in one step
  std::optional<double> grain;       // what can be set is a multiple of this
  std::string lead;                  // channels on one lead always have the same value
  Moves moves = Moves::alone;
  std::vector<std::string> notes;
  Remarks remarks;
  TextPlace place;

  [[nodiscard]] bool is_series() const { return digits > 0; }
  [[nodiscard]] bool is_state() const { return unit == "state"; }
  [[nodiscard]] double rest_value() const;
  [[nodiscard]] std::string rest_state() const;
};

// One line of a step: these channels go to this value.
struct Setting {
  std::vector<std::string> channels;  // members of series by their own names
  double value = 0;                   // in `unit` as written, which may be mV for a channel in V
  std::string unit;                   // empty: the channel's
  std::string word;                   // of state channels
  Remark remark;
  TextPlace place, value_place;
};

struct Step {
  int number = 0;  // from 1, without holes
  std::vector<Setting> settings;
  std::optional<double> hold_s;  // else the plan's
  std::vector<std::string> notes;
  Remarks remarks;
  TextPlace place;
};

struct Plan {
  std::string board;
  std::vector<std::string> notes;
  std::optional<std::uint64_t> seed;  // that the steps were drawn with
  std::optional<double> at_most_s;    // how long it may take
  std::optional<double> hold_s;       // of every step that does not say otherwise
  std::vector<PlanChannel> channels;
  std::vector<Step> steps;
  Remarks remarks;  // "": the first line; "end": what follows the last fact

  [[nodiscard]] double hold_of(const Step& step) const {
    return step.hold_s.value_or(hold_s.value_or(default_hold_s));
  }
};

// A member's number as its name has it: 3 of two digits is 03.
[[nodiscard]] std::string number_text(int number, int digits);
[[nodiscard]] std::vector<std::string> members(const PlanChannel& channel);
// The channel or series that has this name or member; none.
[[nodiscard]] const PlanChannel* find_channel(const Plan& plan, std::string_view name);
// The setting's value in the channel's unit; nothing where the units do not fit.
[[nodiscard]] std::optional<double> value_in_unit_of(const PlanChannel& channel,
                                                     const Setting& setting);

}  // namespace foundling::bench
