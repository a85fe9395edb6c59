#include "tools/stop_signal.h"

#include <signal.h>

namespace foundling {
namespace {

volatile sig_atomic_t asked = 0;

void note_signal(int) { asked = 1; }

}  // namespace

void watch_stop_signals() {
  struct sigaction action {};
  action.sa_handler = note_signal;
  sigaction(SIGINT, &action, nullptr);
  sigaction(SIGTERM, &action, nullptr);
}

bool stop_asked() { return asked != 0; }

}  // namespace foundling
