#include "schemas/capture/session_clock.h"

#include <ctime>
#include <fstream>

namespace foundling {
namespace {

std::int64_t now_ns(clockid_t clock) {
  timespec now{};
  clock_gettime(clock, &now);
  return static_cast<std::int64_t>(now.tv_sec) * 1'000'000'000 + now.tv_nsec;
}

}  // namespace

std::int64_t boottime_now_ns() { return now_ns(CLOCK_BOOTTIME); }

std::string this_boot_id() {
  std::ifstream file("/proc/sys/kernel/random/boot_id");
  std::string id;
  std::getline(file, id);
  return id;
}

void start_session_clock(SessionInfo& info) {
  info.started_boot_ns = boottime_now_ns();
  info.started_utc_ns = now_ns(CLOCK_REALTIME);
  info.origin_ns = info.started_utc_ns;
  info.boot_id = this_boot_id();
}

Result<std::int64_t> session_now_ns(const SessionRow& session, std::int64_t boottime_ns) {
  const std::string name = "session " + std::to_string(session.id);
  if (session.info.started_boot_ns == 0) {
    return Error{ErrorCode::usage, name + " was imported: it has no clock that still runs"};
  }
  if (session.ended) return Error{ErrorCode::usage, name + " has ended"};
  if (session.info.boot_id != this_boot_id()) {
    return Error{ErrorCode::usage,
                 name + " was recorded before this machine last started, or on another machine"};
  }
  return boottime_ns - session.info.started_boot_ns;
}

}  // namespace foundling
