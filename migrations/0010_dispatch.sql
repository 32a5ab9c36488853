-- What leaves: customers, packs, dispatches with the facts that food of animal origin travels with, discards.

CREATE TABLE customer (
    id       uuid PRIMARY KEY,
    name     text NOT NULL CONSTRAINT customer_name_key UNIQUE,
    address  text NOT NULL,
    -- Who owns the goods where that is somebody else (consignee), name and address; empty where it is the customer.
    consignee text NOT NULL,
    contact  text NOT NULL,
    retired  boolean NOT NULL,
    seq      bigint NOT NULL REFERENCES entry
);

-- One docket. The parties stand as they were when it was signed: a customer that moves does not change old dockets.
CREATE TABLE dispatch (
    id          uuid PRIMARY KEY,
    -- None over the counter, to whoever eats it.
    customer    uuid REFERENCES customer,
    reference   text NOT NULL CONSTRAINT dispatch_reference_key UNIQUE,
    happened_at timestamptz NOT NULL,
    -- The operator that it leaves from, and who owns the goods where that is not the shop (consignor).
    from_name    text NOT NULL,
    from_address text NOT NULL,
    consignor    text NOT NULL,
    -- The operator that receives it, and who owns it then where that is not the customer (consignee). Empty over the
    -- counter.
    to_name     text NOT NULL,
    to_address  text NOT NULL,
    consignee   text NOT NULL,
    struck_by   bigint REFERENCES entry,
    seq         bigint NOT NULL REFERENCES entry
);
CREATE INDEX dispatch_by_day ON dispatch (happened_at DESC);
CREATE INDEX dispatch_by_customer ON dispatch (customer, happened_at DESC);

CREATE TABLE dispatch_line (
    dispatch    uuid NOT NULL REFERENCES dispatch,
    n           smallint NOT NULL,
    lot         uuid NOT NULL REFERENCES lot,
    description text NOT NULL,
    grams       numeric(14,2) NOT NULL CHECK (grams > 0),
    -- Per kilogram, in the shop's currency.
    price       numeric(14,4),
    seq         bigint NOT NULL REFERENCES entry,
    PRIMARY KEY (dispatch, n)
);
CREATE INDEX dispatch_line_of_lot ON dispatch_line (lot);

CREATE TABLE pack (
    lot       uuid PRIMARY KEY REFERENCES lot,
    source    uuid NOT NULL REFERENCES lot,
    packed_at timestamptz NOT NULL,
    use_by    date,
    -- "best before" or "use by"; empty where the pack has no date.
    date_word text NOT NULL CHECK (date_word IN ('', 'best before', 'use by')),
    -- What the label says of keeping it, and of where the animal was reared and slaughtered.
    keep      text NOT NULL,
    origin    text NOT NULL,
    -- Whether the label carries the safe handling instructions.
    handling  boolean NOT NULL,
    struck_by bigint REFERENCES entry,
    seq       bigint NOT NULL REFERENCES entry
);
CREATE INDEX pack_of_source ON pack (source);

CREATE TABLE discard (
    seq       bigint NOT NULL REFERENCES entry,
    lot       uuid NOT NULL REFERENCES lot,
    grams     numeric(14,2) NOT NULL CHECK (grams > 0),
    reason    text NOT NULL,
    struck_by bigint REFERENCES entry,
    PRIMARY KEY (seq, lot)
);
CREATE INDEX discard_of_lot ON discard (lot);

-- Whether a lot is for sale as far as its making goes: a piece once somebody has released it, a pack when what it was
-- packed from is, a mix, an ingredient and a casing never, and meat that went into no batch always.
CREATE FUNCTION for_sale(which uuid) RETURNS boolean LANGUAGE sql STABLE AS $$
    WITH RECURSIVE back AS (
        SELECT l.id, l.form FROM lot l WHERE l.id = which
        UNION
        SELECT s.id, s.form FROM back b JOIN pack k ON k.lot = b.id JOIN lot s ON s.id = k.source
    )
    SELECT coalesce(bool_and(CASE
        WHEN b.form IN ('mix', 'ingredient', 'casing') THEN false
        WHEN b.form = 'piece' THEN EXISTS (SELECT 1 FROM piece p WHERE p.lot = b.id AND p.released_by IS NOT NULL)
        ELSE true END), false)
    FROM back b
$$;

-- The same rule stands in the program; here it holds whatever the program says.
CREATE FUNCTION only_what_is_for_sale_leaves() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    kept text;
BEGIN
    SELECT l.code INTO kept
    FROM added c JOIN added m ON m.seq = c.seq AND m.grams < 0 JOIN lot l ON l.id = m.lot
    WHERE c.account = 'customer' AND c.grams > 0 AND NOT for_sale(l.id)
    LIMIT 1;
    IF kept IS NOT NULL THEN
        RAISE EXCEPTION 'lot % is not released and cannot leave', kept;
    END IF;
    RETURN NULL;
END $$;
CREATE TRIGGER only_what_is_for_sale_leaves AFTER INSERT ON movement
    REFERENCING NEW TABLE AS added FOR EACH STATEMENT EXECUTE FUNCTION only_what_is_for_sale_leaves();
