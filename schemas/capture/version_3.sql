-- From version 2 to 3: since when a reading may have been true. What a person types is stamped when
-- it has been typed, which is later than the change on the bench.

-- NULL: unknown. Never after t_ns.
ALTER TABLE reading ADD COLUMN earliest_ns INTEGER CHECK (earliest_ns <= t_ns);

DROP VIEW reading_text;
CREATE VIEW reading_text AS
SELECT reading.id, session, t_ns / 1e9 AS time_s, name AS channel,
  coalesce(state, value) AS value, unit, uncertainty, kind, earliest_ns / 1e9 AS earliest_s
FROM reading JOIN channel ON channel.id = reading.channel
WHERE superseded_by IS NULL ORDER BY session, t_ns, reading.id;
