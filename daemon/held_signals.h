// Signals that tell it to stop wait as long as this lives: between the session's beginning and the
// loop that hears them, one would otherwise end the process and leave the session open. Threads
// begun meanwhile never take them.
#pragma once

#include <csignal>

namespace foundling {

class HeldSignals {
 public:
  HeldSignals() {
    sigset_t stop;
    sigemptyset(&stop);
    for (const int signal : {SIGTERM, SIGINT, SIGHUP}) sigaddset(&stop, signal);
    pthread_sigmask(SIG_BLOCK, &stop, &before_);
  }
  ~HeldSignals() { pthread_sigmask(SIG_SETMASK, &before_, nullptr); }
  HeldSignals(const HeldSignals&) = delete;
  HeldSignals& operator=(const HeldSignals&) = delete;
  HeldSignals(HeldSignals&&) = delete;
  HeldSignals& operator=(HeldSignals&&) = delete;

 private:
  sigset_t before_{};
};

}  // namespace foundling
