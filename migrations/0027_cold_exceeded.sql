-- A cure that was above the shop's limit by what was read there, and the deviation that decides what becomes of it.

CREATE TABLE cold_exceeded (
    seq       bigint PRIMARY KEY REFERENCES entry,
    deviation uuid NOT NULL,
    batch     uuid NOT NULL REFERENCES batch,
    place     uuid NOT NULL REFERENCES place,
    -- The first reading above the limit that no earlier decision speaks of.
    since     timestamptz NOT NULL
);
CREATE INDEX cold_exceeded_of ON cold_exceeded (batch);
CREATE INDEX cold_exceeded_by_deviation ON cold_exceeded (deviation);
