-- How a product is treated against parasites, which published methods from memory the shop has confirmed, and freezings that
-- somebody states.

-- The control of a product, as it was chosen last.
CREATE TABLE parasite_control (
    product     uuid PRIMARY KEY REFERENCES item,
    -- 'programme', 'not asked', or the key of a published method.
    control     text NOT NULL,
    -- Which document it rests on: the supplier's certificate, the code and its edition, the shop's own plan.
    document    text NOT NULL,
    reason      text NOT NULL,
    -- What the largest pieces of meat pass through, millimetres.
    particle    numeric(12,4),
    -- What the shop states of the product: 'uncoated', 'smoked', 'overhauled', 'salt kept'.
    states      text[] NOT NULL,
    seq         bigint NOT NULL REFERENCES entry
);

-- Published methods that stand here from memory: none is rested on before the shop has confirmed it.
CREATE TABLE parasite_method (
    method   text PRIMARY KEY,
    in_force boolean NOT NULL,
    reason   text NOT NULL,
    seq      bigint NOT NULL REFERENCES entry
);

-- A freezing of lots, as somebody states it; the temperatures are those measured in the freezer.
CREATE TABLE freezing (
    seq       bigint PRIMARY KEY REFERENCES entry,
    freezer   uuid NOT NULL REFERENCES place,
    -- Of the pieces, layers, boxes or blocks, millimetres.
    thickness numeric(12,4) NOT NULL CHECK (thickness > 0),
    -- Pieces spaced so that air moves freely among them.
    spaced    boolean NOT NULL,
    begun_at  timestamptz NOT NULL,
    -- None as long as it lasts.
    ended_at  timestamptz,
    struck_by bigint REFERENCES entry,
    CHECK (ended_at IS NULL OR ended_at > begun_at)
);
CREATE TABLE freezing_lot (
    seq bigint NOT NULL REFERENCES freezing,
    lot uuid NOT NULL REFERENCES lot,
    PRIMARY KEY (seq, lot)
);
CREATE INDEX freezing_by_lot ON freezing_lot (lot);
