// The SCPI queries that an instrument may be asked: those that measure and those that read a value.
// A list of what is allowed, for what a query does cannot be told from its form: SCPI-99's
// CALibration[:ALL]? calibrates, *TST? tests, INITiate? and SYSTem:PRESet? of some makers do what
// they say. Pure.
#pragma once

#include <string_view>

namespace foundling {

// A header without its '?', from the root: "*IDN", ":MEASure:VOLTage:DC", "meas:volt".
[[nodiscard]] bool may_be_asked(std::string_view header);

// For messages.
inline constexpr const char* what_may_be_asked =
    "only measuring and reading headers are: MEASure, READ, FETCh, DATA, SENSe:DATA, TRACe:DATA, "
    "[SOURce:]VOLTage, CURRent, RESistance, POWer, OUTPut, SYSTem:ERRor, *IDN, *OPT, *STB, *ESR";

}  // namespace foundling
