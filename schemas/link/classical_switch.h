// A classical CAN interface switched and set through libsocketcan: on, off, mode, bit timing, time
// to a restart. What that library cannot do is link_setup.cpp's own: an FD data rate. It prints
// what the kernel refuses; here that is kept off the screen and comes back as the error's number.
#pragma once

#include <linux/can/netlink.h>

#include <cstdint>
#include <string>

namespace foundling::classical {

// Each: 0, or the errno of the kernel's refusal.
[[nodiscard]] int switch_on(const std::string& name);
[[nodiscard]] int switch_off(const std::string& name);
[[nodiscard]] int set_mode(const std::string& name, can_ctrlmode mode);
[[nodiscard]] int set_timing(const std::string& name, can_bittiming timing);
[[nodiscard]] int set_restart_ms(const std::string& name, std::uint32_t restart_ms);

}  // namespace foundling::classical
