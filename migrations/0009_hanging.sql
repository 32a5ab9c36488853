-- What hangs: each weighing of it, and which hook it is on.

CREATE TABLE weigh_in (
    seq       bigint PRIMARY KEY REFERENCES entry,
    lot       uuid NOT NULL REFERENCES lot,
    grams     numeric(14,2) NOT NULL CHECK (grams > 0),
    -- What it weighed before.
    before    numeric(14,2) NOT NULL,
    at        timestamptz NOT NULL,
    struck_by bigint REFERENCES entry
);
CREATE INDEX weigh_in_of_lot ON weigh_in (lot, at);

CREATE TABLE hook (
    seq       bigint NOT NULL REFERENCES entry,
    lot       uuid NOT NULL REFERENCES lot,
    hook      text NOT NULL,
    struck_by bigint REFERENCES entry,
    PRIMARY KEY (seq, lot)
);
CREATE INDEX hook_of_lot ON hook (lot, seq DESC);
