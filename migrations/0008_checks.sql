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
    name     text NOT NULL CONSTRAINT check_limit_name_key UNIQUE,
    quantity text NOT NULL,
    -- What it holds for: a place, or every place of a kind, or lots of a form, or batches in a stage.
    place    uuid REFERENCES place,
    applies  text NOT NULL,
    least    numeric(10,4),
    most     numeric(10,4),
    -- Where the figure comes from: law, guideline, common practice, the shop's own plan.
    source   text NOT NULL,
    retired  boolean NOT NULL,
    seq      bigint NOT NULL REFERENCES entry,
    CHECK (num_nonnulls(least, most) > 0)
);

CREATE TABLE check_record (
    id          uuid PRIMARY KEY,
    seq         bigint NOT NULL UNIQUE REFERENCES entry,
    check_limit uuid NOT NULL REFERENCES check_limit,
    limit_name  text NOT NULL,
    quantity    text NOT NULL,
    value       numeric(10,4) NOT NULL,
    least       numeric(10,4),
    most        numeric(10,4),
    met         boolean NOT NULL,
    place       uuid REFERENCES place,
    lot         uuid REFERENCES lot,
    batch       uuid REFERENCES batch,
    at          timestamptz NOT NULL,
    struck_by   bigint REFERENCES entry
);
CREATE INDEX check_record_by_day ON check_record (at DESC);

-- A check out of limits, open until what was done about it is written and somebody has decided on the lots.
CREATE TABLE deviation (
    id           uuid PRIMARY KEY,
    check_record uuid REFERENCES check_record,
    what         text NOT NULL,
    opened_at    timestamptz NOT NULL,
    closed_by    bigint REFERENCES entry,
    struck_by    bigint REFERENCES entry,
    seq          bigint NOT NULL REFERENCES entry
);
CREATE INDEX deviation_open ON deviation (opened_at) WHERE closed_by IS NULL;

CREATE TABLE deviation_lot (
    deviation uuid NOT NULL REFERENCES deviation,
    lot       uuid NOT NULL REFERENCES lot,
    seq       bigint NOT NULL REFERENCES entry,
    PRIMARY KEY (deviation, lot)
);
