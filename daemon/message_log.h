// The recorder's messages: to stderr, with the time on a terminal and with the journal's priorities
// under a service manager. A flood is cut short and counted.
#pragma once

namespace foundling {

void set_up_message_log();

}  // namespace foundling
