// A session as the two CSV texts that `foundling import` takes: frames and stimulus.
#pragma once

#include <iosfwd>

#include "tools/board/session.h"

namespace foundling::board {

// time_s,bus,identifier,extended,payload
void write_frames_csv(std::ostream& out, const BenchSession& session);

// time_s,channel,unit,value,uncertainty
void write_stimulus_csv(std::ostream& out, const BenchSession& session);

}  // namespace foundling::board
