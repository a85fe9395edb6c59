-- Version 1 of the capture file. Every column is explained in README.md beside this file.
-- All t_ns are nanoseconds since the session's start on one steady time line.

CREATE TABLE session (
  id INTEGER PRIMARY KEY,
  started_utc_ns INTEGER NOT NULL,   -- wall clock at t_ns 0, 0 when unknown
  origin_ns INTEGER NOT NULL,        -- the imported file's clock at t_ns 0; recorded: as started_utc_ns
  started_boot_ns INTEGER NOT NULL,  -- CLOCK_BOOTTIME at t_ns 0, 0 when imported
  boot_id TEXT NOT NULL,             -- the machine's boot; started_boot_ns means nothing in another
  ended_ns INTEGER,                  -- NULL while recording, or when the recorder was killed
  pack TEXT NOT NULL,
  board TEXT NOT NULL,
  note TEXT NOT NULL,
  interface TEXT NOT NULL,
  bit_rate INTEGER NOT NULL,         -- bit/s, 0 unknown
  data_bit_rate INTEGER NOT NULL,    -- bit/s of the FD data phase, 0 unknown or classical
  tool_version TEXT NOT NULL,
  -- What the session holds, kept up to date in the transaction that adds the frames.
  frames INTEGER NOT NULL DEFAULT 0,
  first_ns INTEGER,
  last_ns INTEGER,
  first_row INTEGER,                 -- its frames lie between these rowids
  last_row INTEGER
) STRICT;

-- One row a frame, in order of arrival. No index beside the rowid, no constraint that costs time.
CREATE TABLE frame (
  session INTEGER NOT NULL,
  t_ns INTEGER NOT NULL,
  bus INTEGER NOT NULL,
  identifier INTEGER NOT NULL,       -- unsigned, bits 31 29-bit format, 30 remote, as Linux can_id
  flags INTEGER NOT NULL,            -- 1 bit rate switch, 2 error state, 4 FD format; 0 classical
  payload BLOB NOT NULL
) STRICT;

CREATE TABLE channel (
  id INTEGER PRIMARY KEY,
  name TEXT NOT NULL UNIQUE,
  unit TEXT NOT NULL,                -- 'state' for words
  kind TEXT NOT NULL CHECK (kind IN ('hold', 'sample'))
) STRICT;

-- Nothing is deleted: a correction is a new row, and the old row names it.
CREATE TABLE reading (
  id INTEGER PRIMARY KEY,
  session INTEGER NOT NULL REFERENCES session (id),
  channel INTEGER NOT NULL REFERENCES channel (id),
  t_ns INTEGER NOT NULL,
  value REAL,                        -- in the channel's unit; NULL in a state channel
  uncertainty REAL,                  -- standard, same unit; NULL unknown
  state TEXT,                        -- the word of a state channel, else NULL
  superseded_by INTEGER REFERENCES reading (id)  -- its own id: withdrawn
) STRICT;

CREATE TABLE bus_event (
  id INTEGER PRIMARY KEY,
  session INTEGER NOT NULL REFERENCES session (id),
  t_ns INTEGER NOT NULL,
  bus INTEGER NOT NULL,
  kind TEXT NOT NULL,                -- 'error-frame', 'state', 'counters'
  can_id INTEGER NOT NULL,           -- of an error frame: class bits as in linux/can/error.h, else 0
  data BLOB NOT NULL,
  detail TEXT NOT NULL
) STRICT;

CREATE TABLE gap (
  id INTEGER PRIMARY KEY,
  session INTEGER NOT NULL REFERENCES session (id),
  from_ns INTEGER NOT NULL,
  to_ns INTEGER NOT NULL,
  bus INTEGER NOT NULL,
  frames_lost INTEGER NOT NULL,      -- 0 when nobody could count them
  why TEXT NOT NULL
) STRICT;

CREATE TABLE clock (
  id INTEGER PRIMARY KEY,
  session INTEGER NOT NULL REFERENCES session (id),
  t_ns INTEGER NOT NULL,
  wall_ns INTEGER NOT NULL,          -- wall clock at t_ns, after the step
  step_ns INTEGER NOT NULL           -- how far the wall clock jumped, 0 for a plain mark
) STRICT;

CREATE TABLE health (
  id INTEGER PRIMARY KEY,
  session INTEGER NOT NULL REFERENCES session (id),
  t_ns INTEGER NOT NULL,
  frames INTEGER NOT NULL,           -- stored in the session so far
  lost INTEGER NOT NULL,             -- known to be lost in the session so far
  queued INTEGER NOT NULL,           -- waiting for the writer
  commit_ns INTEGER NOT NULL,        -- longest commit since the last row
  disk_free_bytes INTEGER NOT NULL,
  note TEXT NOT NULL
) STRICT;

-- Views for people.

CREATE VIEW frame_text AS
SELECT session, t_ns / 1e9 AS time_s, bus,
  CASE WHEN identifier & 0x80000000 THEN printf('%08X', identifier & 0x1FFFFFFF)
       ELSE printf('%03X', identifier & 0x7FF) END AS identifier,
  (identifier & 0x80000000) <> 0 AS extended, (identifier & 0x40000000) <> 0 AS remote,
  flags, hex(payload) AS payload
FROM frame;

CREATE VIEW message_overview AS
SELECT session, bus,
  CASE WHEN identifier & 0x80000000 THEN printf('%08X', identifier & 0x1FFFFFFF)
       ELSE printf('%03X', identifier & 0x7FF) END AS identifier,
  (identifier & 0x80000000) <> 0 AS extended, count(*) AS frames,
  CASE WHEN count(*) > 1
       THEN round((max(t_ns) - min(t_ns)) / 1e6 / (count(*) - 1), 3) END AS period_ms,
  max(length(payload)) AS longest_payload
FROM frame WHERE identifier & 0x40000000 = 0 GROUP BY 1, 2, 4, 3;

CREATE VIEW reading_text AS
SELECT reading.id, session, t_ns / 1e9 AS time_s, name AS channel,
  coalesce(state, value) AS value, unit, uncertainty, kind
FROM reading JOIN channel ON channel.id = reading.channel
WHERE superseded_by IS NULL ORDER BY session, t_ns, reading.id;

CREATE VIEW session_overview AS
SELECT id, CASE WHEN started_utc_ns <> 0
    THEN strftime('%Y-%m-%d %H:%M:%S', started_utc_ns / 1000000000, 'unixepoch') END AS started_utc,
  pack, board, note, interface, frames, (last_ns - first_ns) / 1e9 AS seconds,
  ended_ns IS NOT NULL AS ended,
  (SELECT coalesce(sum(frames_lost), 0) FROM gap WHERE gap.session = session.id) AS frames_lost
FROM session;
