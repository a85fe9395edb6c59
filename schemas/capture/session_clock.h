// The session's steady time line, shared by every process of the machine that records it.
// t_ns = CLOCK_BOOTTIME now - the session's started_boot_ns: never stepped by NTP, goes on through
// suspend. Valid within one boot only, which boot_id tells.
#pragma once

#include <cstdint>
#include <string>

#include "schemas/capture/rows.h"
#include "schemas/values/result.h"

namespace foundling {

// CLOCK_BOOTTIME, nanoseconds.
[[nodiscard]] std::int64_t boottime_now_ns();

// The kernel's random name of this boot; empty where the kernel does not tell.
[[nodiscard]] std::string this_boot_id();

// Fills started_boot_ns, boot_id and started_utc_ns (= origin_ns) for a session that starts now.
void start_session_clock(SessionInfo& info);

// A moment of boottime_now_ns(), on the session's time line. An error when the session has ended,
// was imported, or belongs to another boot.
[[nodiscard]] Result<std::int64_t> session_now_ns(const SessionRow& session,
                                                  std::int64_t boottime_ns = boottime_now_ns());

}  // namespace foundling
