-- Breaking down at the block: the lists of expected cuts, each breakdown, each cut weighed.

CREATE TABLE cut_list (
    id      uuid PRIMARY KEY,
    name    text NOT NULL CONSTRAINT cut_list_name_key UNIQUE,
    -- What it is a list for: the forms of the source, in the words of `lot.form`.
    sources text[] NOT NULL,
    -- The cutting loss that needs no reason, per cent of what was taken in.
    tolerance numeric(10,4) NOT NULL CHECK (tolerance >= 0 AND tolerance <= 100),
    retired boolean NOT NULL,
    seq     bigint NOT NULL REFERENCES entry
);

CREATE TABLE cut_list_line (
    cut_list uuid NOT NULL REFERENCES cut_list,
    n        smallint NOT NULL,
    item     uuid NOT NULL REFERENCES item,
    -- Usual share of the source's weight, per cent.
    share    numeric(10,4) NOT NULL CHECK (share >= 0 AND share <= 100),
    -- Where it usually goes.
    goes_to  text NOT NULL,
    seq      bigint NOT NULL REFERENCES entry,
    PRIMARY KEY (cut_list, n)
);

CREATE TABLE breakdown (
    id         uuid PRIMARY KEY,
    lot        uuid NOT NULL REFERENCES lot,
    cut_list   uuid REFERENCES cut_list,
    -- What lay on the block when it was opened.
    taken_in   numeric(14,2) NOT NULL CHECK (taken_in > 0),
    opened_at  timestamptz NOT NULL,
    closed_at  timestamptz,
    closed_by  bigint REFERENCES entry,
    -- The cutting loss. A gain does not stand here: it was found by weighing again, before the close.
    loss       numeric(14,2),
    reason     text NOT NULL DEFAULT '',
    struck_by  bigint REFERENCES entry,
    seq        bigint NOT NULL REFERENCES entry
);
-- A lot lies on the block once at a time.
CREATE UNIQUE INDEX breakdown_open_key ON breakdown (lot) WHERE closed_by IS NULL AND struck_by IS NULL;
CREATE INDEX breakdown_by_day ON breakdown (opened_at DESC);
CREATE INDEX breakdown_by_lot ON breakdown (lot);
CREATE INDEX breakdown_by_close ON breakdown (closed_at) WHERE closed_by IS NOT NULL;

-- The scale says that something else lies on the block than the book does.
CREATE TABLE reweighing (
    seq       bigint PRIMARY KEY REFERENCES entry,
    breakdown uuid NOT NULL REFERENCES breakdown,
    -- Positive: found. Negative: missing.
    found     numeric(14,2) NOT NULL CHECK (found <> 0),
    reason    text NOT NULL,
    struck_by bigint REFERENCES entry
);
CREATE INDEX reweighing_by_breakdown ON reweighing (breakdown);

CREATE TABLE cut (
    seq       bigint PRIMARY KEY REFERENCES entry,
    breakdown uuid NOT NULL REFERENCES breakdown,
    -- None where it went straight into waste.
    lot       uuid CONSTRAINT cut_lot_key UNIQUE REFERENCES lot,
    item      uuid NOT NULL REFERENCES item,
    grams     numeric(14,2) NOT NULL CHECK (grams > 0),
    pieces    smallint NOT NULL CHECK (pieces > 0),
    goes_to   text NOT NULL,
    -- Visual fat of trim, per cent.
    fat       numeric(10,4),
    struck_by bigint REFERENCES entry
);
CREATE INDEX cut_by_breakdown ON cut (breakdown, seq);
CREATE INDEX cut_by_use ON cut (goes_to, seq DESC);

-- How the cost of a source is shared over its cuts. One row: what the shop last said.
CREATE TABLE cost_method (
    one               boolean PRIMARY KEY DEFAULT true CONSTRAINT cost_method_is_one CHECK (one),
    by                text NOT NULL CHECK (by IN ('weight', 'sales value')),
    -- Whether bone, skin and fat are taken off at their sales value before the cuts share the rest.
    by_products_first boolean NOT NULL,
    seq               bigint NOT NULL REFERENCES entry
);
