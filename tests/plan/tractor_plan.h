// An invented plan with one of everything the format has: the worked example of its README.
#pragma once

namespace foundling::bench {

inline constexpr const char* tractor_plan = R"(foundling plan 1  # first try

# who and what
board "orchard tractor, 28 cells"
note the decade sits in for temp_1  # part of the note
seed 4711  # drawn on a Monday
at-most 40 min
hold 10 s

# the supply
channel pack_current A
  limits -60..60 A  # of the supply
  rest 0 A
  levels 8
  repeat 2
  settle 0.5 s
  set-time 5 s
  ramp 20 A/s
  jump 80 A
  grain 0.5 A
  note positive charges

channel interlock state
  words open closed
  rest closed

series cell 01..28 V
  limits 2.8..3.6 V
  rest 3.3 V
  move in sets

channel temp_2 °C
  limits 0..60 °C
  lead bath
channel temp_3 °C
  limits 5..50 °C
  rest 20 °C
  lead bath

step 1
  # all at once
  set pack_current = 20 A  # slowly
  set interlock = open
  set cell_01 cell_05..cell_09 = 3450 mV
  set temp_2 temp_3 = 20 °C
  hold 12 s
  note look at the ammeter
step 2
  set cell_01 cell_05..cell_09 = 3.3 V
# the end
)";

}  // namespace foundling::bench
