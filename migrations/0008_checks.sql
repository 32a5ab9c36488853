-- Readings, and checks: a reading held against a limit that keeps the limit that was in force with it.

CREATE TABLE reading (
    seq        bigint PRIMARY KEY REFERENCES entry,
    -- What it was taken on: exactly one of these.
    place      uuid REFERENCES place,
    lot        uuid REFERENCES lot,
    batch      uuid REFERENCES batch,
    quantity   text NOT NULL CHECK (quantity IN ('temperature', 'humidity', 'ph', 'water activity', 'chlorine')),
    -- In the quantity's own unit: °C, %RH, pH, aw, ppm.
    value      numeric(10,4) NOT NULL,
    instrument uuid REFERENCES instrument,
    at         timestamptz NOT NULL,
    struck_by  bigint REFERENCES entry,
    CHECK (num_nonnulls(place, lot, batch) = 1)
);
CREATE INDEX reading_of_place ON reading (place, at DESC) WHERE place IS NOT NULL;
CREATE INDEX reading_of_lot ON reading (lot, at DESC) WHERE lot IS NOT NULL;
CREATE INDEX reading_of_batch ON reading (batch, at DESC) WHERE batch IS NOT NULL;

CREATE TABLE check_limit (
    id       uuid PRIMARY KEY,
    name     text NOT NULL,
    quantity text NOT NULL CHECK (quantity IN ('temperature', 'humidity', 'ph', 'water activity', 'chlorine')),
    -- What it holds for: one place, every place of a kind, lots of a form, batches while they are in a stage, or batches
    -- at the end of one.
    applies  text NOT NULL CHECK (applies IN ('place', 'kind', 'form', 'stage', 'end')),
    place    uuid REFERENCES place,
    -- The kind, the form or the stage; empty where it is one place.
    word     text NOT NULL,
    -- In the quantity's own unit. Exactly at the limit is met.
    least    numeric(10,4),
    most     numeric(10,4),
    -- Where the figure comes from: law, guideline, common practice, the shop's own plan.
    source   text NOT NULL,
    retired  boolean NOT NULL,
    seq      bigint NOT NULL REFERENCES entry,
    CHECK (num_nonnulls(least, most) > 0),
    CHECK ((place IS NOT NULL) = (applies = 'place'))
);
CREATE UNIQUE INDEX check_limit_name_key ON check_limit (lower(name));

-- One limit that a reading was held against, as it was in force then. The reading itself is in `reading`, same seq.
CREATE TABLE check_record (
    seq         bigint NOT NULL REFERENCES entry,
    n           smallint NOT NULL,
    -- The check that it belongs to: one for all limits of a reading.
    id          uuid NOT NULL,
    check_limit uuid NOT NULL REFERENCES check_limit,
    limit_name  text NOT NULL,
    least       numeric(10,4),
    most        numeric(10,4),
    source      text NOT NULL,
    met         boolean NOT NULL,
    struck_by   bigint REFERENCES entry,
    PRIMARY KEY (seq, n)
);
CREATE INDEX check_record_by_limit ON check_record (check_limit, seq);
CREATE INDEX check_record_by_id ON check_record (id);

-- A check out of limits, open until what was done about it is written and somebody has decided on the lots.
CREATE TABLE deviation (
    id        uuid PRIMARY KEY,
    what      text NOT NULL,
    -- What it was found on; exactly one of these.
    place     uuid REFERENCES place,
    lot       uuid REFERENCES lot,
    batch     uuid REFERENCES batch,
    -- When what was found happened.
    opened_at timestamptz NOT NULL,
    closed_by bigint REFERENCES entry,
    struck_by bigint REFERENCES entry,
    -- The entry that opened it, and whose holds on its lots it stands for.
    seq       bigint NOT NULL REFERENCES entry,
    CHECK (num_nonnulls(place, lot, batch) = 1)
);
CREATE INDEX deviation_open ON deviation (opened_at) WHERE closed_by IS NULL AND struck_by IS NULL;

-- The lots that it concerns, and what was decided of each when it was closed.
CREATE TABLE deviation_lot (
    deviation  uuid NOT NULL REFERENCES deviation,
    lot        uuid NOT NULL REFERENCES lot,
    decision   text CHECK (decision IN ('lift the hold', 'keep on hold', 'discard')),
    decided_by bigint REFERENCES entry,
    seq        bigint NOT NULL REFERENCES entry,
    PRIMARY KEY (deviation, lot)
);
CREATE INDEX deviation_lot_by_lot ON deviation_lot (lot);

-- What was done about it, in the four parts of 9 CFR 417.3(a). A part that is empty says nothing new.
CREATE TABLE deviation_action (
    seq       bigint PRIMARY KEY REFERENCES entry,
    deviation uuid NOT NULL REFERENCES deviation,
    -- What caused it, and how that was removed.
    cause     text NOT NULL,
    -- How it is known to be under control again.
    control   text NOT NULL,
    -- What keeps it from coming back.
    prevent   text NOT NULL,
    -- How nothing injurious leaves the shop: what becomes of the lots.
    product   text NOT NULL,
    struck_by bigint REFERENCES entry
);
CREATE INDEX deviation_action_of ON deviation_action (deviation, seq);
