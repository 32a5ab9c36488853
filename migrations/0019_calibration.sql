-- Calibrations: what an instrument showed against something known, as it was found and as it was left.

ALTER TABLE instrument ADD COLUMN calibrate_every integer CHECK (calibrate_every > 0);

CREATE TABLE calibration (
    seq        bigint PRIMARY KEY REFERENCES entry,
    instrument uuid NOT NULL REFERENCES instrument,
    method     text NOT NULL,
    at         timestamptz NOT NULL,
    -- Whether every point was within its tolerance: as it was found, and as it was left.
    found_met  boolean NOT NULL,
    left_met   boolean NOT NULL,
    struck_by  bigint REFERENCES entry
);
CREATE INDEX calibration_of ON calibration (instrument, at DESC, seq DESC);

-- A deviation may be found on an instrument: everything that was read with it is in question.
ALTER TABLE deviation ADD COLUMN instrument uuid REFERENCES instrument;
ALTER TABLE deviation DROP CONSTRAINT deviation_check;
ALTER TABLE deviation ADD CONSTRAINT deviation_on_one_thing
    CHECK (num_nonnulls(place, lot, batch, instrument) = 1);

-- Every figure that stands and the instrument that it was read with, by the lines that name one. Lines that speak of an
-- instrument without reading it are left out by their kind.
CREATE VIEW read_with AS
    SELECT a.subject AS instrument, e.seq, e.happened_at AS at
    FROM about a JOIN entry e ON e.seq = a.seq JOIN instrument i ON i.id = a.subject
    WHERE e.kind NOT IN ('instrument.written', 'calibration.recorded', 'entry.struck', 'paper.attached')
      AND NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = e.seq);
