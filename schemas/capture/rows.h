// What a capture holds beside frames and readings: sessions, bus events, gaps, clock marks, health.
// One struct a table; columns are explained in schemas/capture/README.md.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "schemas/values/fd_message.h"
#include "schemas/values/frame.h"
#include "schemas/values/reading.h"

namespace foundling {

struct SessionInfo {
  std::int64_t started_utc_ns = 0;  // wall clock at t_ns 0; 0 unknown
  // The frame source's own clock at t_ns 0: origin_ns + t_ns is the stamp to export. For an import
  // the file's clock; 0 where the file's times already start near zero.
  std::int64_t origin_ns = 0;
  std::int64_t started_boot_ns = 0;  // CLOCK_BOOTTIME at t_ns 0 (session_clock.h); 0 imported
  std::string boot_id;               // of the machine's boot; empty imported
  std::string pack, board, note, interface, tool_version;
  std::int64_t bit_rate = 0;       // bit/s; 0 unknown
  std::int64_t data_bit_rate = 0;  // bit/s of the FD data phase; 0 unknown
};

struct SessionRow {
  std::int64_t id = 0;  // 1..
  SessionInfo info;
  std::uint64_t frames = 0;
  std::int64_t first_ns = 0, last_ns = 0;  // of its frames; 0 without frames
  std::int64_t last_row = 0;               // of its frames in table frame; 0 without frames
  bool ended = false;                      // false: still recording, or the recorder was killed
  std::int64_t ended_ns = 0;
};

struct BusEvent {
  std::int64_t t_ns = 0;
  std::uint8_t bus = 0;
  std::uint32_t can_id = 0;            // of an error frame: flag bit 29 and its class bits
  std::array<std::uint8_t, 8> data{};  // of an error frame
  std::string kind;                    // "error-frame", "state", "counters"
  std::string detail;                  // for a person
};

struct Gap {
  std::int64_t from_ns = 0, to_ns = 0;
  std::uint8_t bus = 0;
  std::uint64_t frames_lost = 0;  // 0 when nobody could count them
  std::string why;
};

struct ClockMark {
  std::int64_t t_ns = 0;
  std::int64_t wall_ns = 0;  // wall clock at t_ns, after the step
  std::int64_t step_ns = 0;  // how far the wall clock jumped; 0 for a plain mark
};

struct Health {
  std::int64_t t_ns = 0;
  std::uint64_t frames = 0;    // stored in the session so far
  std::uint64_t lost = 0;      // known to be lost in the session so far
  std::uint64_t queued = 0;    // waiting for the writer
  std::int64_t commit_ns = 0;  // longest commit since the last row
  std::uint64_t disk_free_bytes = 0;
  std::string note;
};

// What somebody wants to find again at a moment: a person's note, or how far a bench plan is.
struct Mark {
  std::int64_t t_ns = 0;
  std::string kind;  // "note", "plan", "step"
  std::string text;
};

struct StoredMark {
  std::int64_t id = 0;
  Mark mark;
  std::int64_t superseded_by = 0;  // 0 valid; its own id: withdrawn
};

// How an instrument that the recorder queries fares.
struct InstrumentState {
  std::int64_t t_ns = 0;
  std::string name;
  std::string state;           // "working", "overload", "garbled", "silent", "away"
  std::string identity;        // its answer to *IDN?
  std::uint64_t readings = 0;  // handed on since the recorder began
  std::uint64_t refused = 0;   // answers that were no reading, since then
  std::string detail;          // of the last fault, for a person
};

// A reading as stored, superseded ones included.
struct StoredReading {
  std::int64_t id = 0;
  Channel channel;
  Reading reading;
  std::int64_t superseded_by = 0;  // 0 valid; its own id: withdrawn
};

struct SessionData {
  SessionRow session;
  std::vector<MessageSeries> messages;  // by bus, then standard before extended, then number
  std::vector<ChannelSeries> channels;  // by name; valid readings only, in order of time
  std::vector<FdMessage> fd_messages;   // those with frames in FD format; in the messages' order
};

}  // namespace foundling
