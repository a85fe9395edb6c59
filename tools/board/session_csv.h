// A session as the two CSV texts that `foundling import` takes: frames and stimulus.
#pragma once

#include <iosfwd>
#include <string>

#include "tools/board/session.h"

namespace foundling::board {

// time_s,bus,identifier,extended,payload
void write_frames_csv(std::ostream& out, const BenchSession& session);

inline constexpr const char* stimulus_csv_header = "time_s,channel,unit,value,uncertainty\n";
[[nodiscard]] std::string stimulus_csv_line(const Channel& channel, const Reading& reading);
void write_stimulus_csv(std::ostream& out, const BenchSession& session);

}  // namespace foundling::board
