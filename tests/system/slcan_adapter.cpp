// Plays a serial CAN adapter in a test guest: a pseudo-terminal with the kernel's slcan line
// discipline on it (linux/tty.h, N_SLCAN), so that a real CAN interface of the kernel comes to be.
// What is read from stdin goes to the kernel as the adapter's lines ("t1232AABB", "sb000255": bus
// off); closing stdin unplugs the adapter. Prints the interface's name. The controller's state and
// error frames are then the kernel's own; only what the adapter says is ours.
#include <fcntl.h>
#include <linux/tty.h>
#include <net/if.h>
#include <pty.h>
#include <sys/ioctl.h>
#include <termios.h>
#include <unistd.h>

#include <cstdio>
#include <iostream>
#include <string>
#include <thread>

namespace {

// What the kernel sends to the adapter: set-up commands and frames. Read, so that it never blocks.
void swallow(int adapter) {
  char bytes[256];
  while (read(adapter, bytes, sizeof bytes) > 0) {
  }
}

}  // namespace

int main() {
  int adapter = -1;
  int kernel = -1;
  if (openpty(&adapter, &kernel, nullptr, nullptr, nullptr) != 0) return std::perror("openpty"), 2;
  termios mode{};
  tcgetattr(kernel, &mode);
  cfmakeraw(&mode);
  tcsetattr(kernel, TCSANOW, &mode);
  const int discipline = N_SLCAN;
  if (ioctl(kernel, TIOCSETD, &discipline) != 0) return std::perror("slcan"), 2;
  ifreq request{};
  if (ioctl(kernel, SIOCGIFNAME, &request) != 0) return std::perror("slcan's name"), 2;
  std::printf("%s\n", request.ifr_name);
  std::fflush(stdout);
  std::thread(swallow, adapter).detach();
  for (std::string line; std::getline(std::cin, line);) {
    line += '\r';
    if (write(adapter, line.data(), line.size()) < 0) return std::perror("write"), 2;
    usleep(20'000);  // one line at a time, as a serial line has them
  }
  close(kernel);
  close(adapter);
  _exit(0);  // the other thread may be waiting in read
}
