-- From version 1 to 2: what a person noted, and how the instruments fared. New tables only, so a
-- file of version 1 is read as it is; a writer brings it up to date.

-- Nothing is deleted: a correction is a new row, and the old row names it.
CREATE TABLE mark (
  id INTEGER PRIMARY KEY,
  session INTEGER NOT NULL REFERENCES session (id),
  t_ns INTEGER NOT NULL,
  kind TEXT NOT NULL,                -- 'note': a person's words; 'plan', 'step': of a bench plan
  text TEXT NOT NULL,
  superseded_by INTEGER REFERENCES mark (id)  -- its own id: withdrawn
) STRICT;

CREATE TABLE instrument (
  id INTEGER PRIMARY KEY,
  session INTEGER NOT NULL REFERENCES session (id),
  t_ns INTEGER NOT NULL,
  name TEXT NOT NULL,
  state TEXT NOT NULL,               -- 'working', 'overload', 'garbled', 'silent', 'away'
  identity TEXT NOT NULL,            -- its answer to *IDN?, empty: none yet
  readings INTEGER NOT NULL,         -- handed on since the recorder began
  refused INTEGER NOT NULL,          -- answers that were no reading, since then
  detail TEXT NOT NULL               -- of the last fault, for a person
) STRICT;

CREATE VIEW mark_text AS
SELECT id, session, t_ns / 1e9 AS time_s, kind, text FROM mark
WHERE superseded_by IS NULL ORDER BY session, t_ns, id;
