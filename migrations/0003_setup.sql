-- What the shop has: its list of things, its places, its instruments.

CREATE TABLE item (
    id          uuid PRIMARY KEY,
    name        text NOT NULL,
    form        text NOT NULL,
    -- Where it is meat; empty otherwise.
    species     text NOT NULL,
    -- What a label calls it, where that is another name.
    label_name  text NOT NULL,
    -- Its number in a published specification of cuts, as IMPS 403; may be empty.
    number      text NOT NULL,
    -- The allergens in it, in the words of the law that the shop is under.
    allergens   text[] NOT NULL,
    -- What a kilogram of it sells for, for sharing a carcass's cost by sales value.
    sales_price numeric(14,4),
    -- Bone, skin and fat whose worth may be taken off a carcass's cost first.
    by_product  boolean NOT NULL,
    retired     boolean NOT NULL,
    seq         bigint NOT NULL REFERENCES entry
);
-- Read aloud, "Back fat" and "back fat" are one thing.
CREATE UNIQUE INDEX item_name_key ON item (lower(name));

CREATE TABLE place (
    id      uuid PRIMARY KEY,
    name    text NOT NULL,
    kind    text NOT NULL CHECK (kind IN ('block', 'cooler', 'freezer', 'curing fridge', 'chamber', 'rail', 'store',
                                          'counter')),
    -- A rail hangs in a chamber, a shelf stands in a cooler.
    within  uuid REFERENCES place,
    -- Hours between readings of it by hand; none where nobody reads it.
    read_every smallint CHECK (read_every > 0),
    note    text NOT NULL,
    retired boolean NOT NULL,
    seq     bigint NOT NULL REFERENCES entry
);
CREATE UNIQUE INDEX place_name_key ON place (lower(name));

CREATE TABLE instrument (
    id       uuid PRIMARY KEY,
    name     text NOT NULL,
    measures text NOT NULL CHECK (measures IN ('weight', 'temperature', 'humidity', 'ph', 'water activity', 'other')),
    retired  boolean NOT NULL,
    seq      bigint NOT NULL REFERENCES entry
);
CREATE UNIQUE INDEX instrument_name_key ON instrument (lower(name));
