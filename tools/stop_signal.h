// SIGINT and SIGTERM as a wish to stop: work that goes on until it is told ends in good order.
#pragma once

namespace foundling {

// From now on the two signals are noted instead of ending the program; a wait they interrupt
// returns.
void watch_stop_signals();
[[nodiscard]] bool stop_asked();

}  // namespace foundling
