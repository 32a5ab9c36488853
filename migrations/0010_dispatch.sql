-- What leaves: customers, packs, dispatches with the facts that food of animal origin travels with, discards.

CREATE TABLE customer (
    id       uuid PRIMARY KEY,
    name     text NOT NULL CONSTRAINT customer_name_key UNIQUE,
    address  text NOT NULL,
    -- Who owns the goods where that is somebody else (consignee); empty where it is the customer.
    consignee text NOT NULL,
    contact  text NOT NULL,
    retired  boolean NOT NULL,
    seq      bigint NOT NULL REFERENCES entry
);

CREATE TABLE dispatch (
    id          uuid PRIMARY KEY,
    -- None over the counter, to whoever eats it.
    customer    uuid REFERENCES customer,
    reference   text NOT NULL CONSTRAINT dispatch_reference_key UNIQUE,
    happened_at timestamptz NOT NULL,
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
    -- "best before" or "use by".
    date_word text NOT NULL,
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
