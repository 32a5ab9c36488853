-- Who brings it, what came through the door on one docket, and what is known of each lot of it.

CREATE TABLE supplier (
    id             uuid PRIMARY KEY,
    name           text NOT NULL CONSTRAINT supplier_name_key UNIQUE,
    address        text NOT NULL,
    -- Establishment or approval number, as the regulator writes it.
    number         text NOT NULL,
    contact        text NOT NULL,
    approved_until date,
    -- Papers held: certificates, letters of guarantee.
    papers         text NOT NULL,
    retired        boolean NOT NULL,
    seq            bigint NOT NULL REFERENCES entry
);

CREATE TABLE delivery (
    id          uuid PRIMARY KEY,
    supplier    uuid NOT NULL REFERENCES supplier,
    docket      text NOT NULL,
    -- Air in the vehicle, °C.
    vehicle     numeric(6,2),
    happened_at timestamptz NOT NULL,
    struck_by   bigint REFERENCES entry,
    seq         bigint NOT NULL REFERENCES entry
);
CREATE INDEX delivery_by_day ON delivery (happened_at DESC);
CREATE INDEX delivery_by_supplier ON delivery (supplier);

-- One line of a docket: what came, in what state, and the shop's answer. A refused line has no lot.
CREATE TABLE received (
    seq           bigint PRIMARY KEY REFERENCES entry,
    delivery      uuid NOT NULL REFERENCES delivery,
    supplier      uuid NOT NULL REFERENCES supplier,
    lot           uuid CONSTRAINT received_lot_key UNIQUE REFERENCES lot,
    item          uuid NOT NULL REFERENCES item,
    answer        text NOT NULL CHECK (answer IN ('received', 'on hold', 'refused')),
    reason        text NOT NULL,
    -- The checks that it did not meet, by their words.
    failed        text[] NOT NULL,
    grams         numeric(14,2) NOT NULL CHECK (grams > 0),
    -- Surface or core of the product, °C.
    temperature   numeric(6,2),
    -- Per kilogram, in the shop's currency.
    price         numeric(14,4),
    species       text NOT NULL,
    breed         text NOT NULL,
    ear_tag       text NOT NULL,
    slaughter_lot text NOT NULL,
    slaughtered   date,
    establishment text NOT NULL,
    basis         text NOT NULL CHECK (basis IN ('', 'hot', 'chilled')),
    frozen        boolean NOT NULL,
    -- Added solution, per cent.
    solution      numeric(10,4),
    supplier_lot  text NOT NULL,
    best_before   date,
    allergens     text[] NOT NULL,
    -- Strength of a cure, per cent by weight as NaNO2 and as NaNO3.
    nitrite       numeric(10,4),
    nitrate       numeric(10,4),
    struck_by     bigint REFERENCES entry
);
CREATE INDEX received_by_delivery ON received (delivery);
CREATE INDEX received_by_supplier ON received (supplier);
CREATE INDEX received_by_item ON received (item);
CREATE INDEX received_by_ear_tag ON received (ear_tag) WHERE ear_tag <> '';
CREATE INDEX received_by_supplier_lot ON received (supplier_lot) WHERE supplier_lot <> '';

-- One row once the shop has set its own checks at the door. A temperature that is not set is not checked.
CREATE TABLE receiving_checks (
    one      boolean PRIMARY KEY DEFAULT true CONSTRAINT receiving_checks_are_one CHECK (one),
    -- The warmest that it may come in, °C: chilled product, carcasses and sides, offal.
    chilled  numeric(6,2),
    carcass  numeric(6,2),
    offal    numeric(6,2),
    solution boolean NOT NULL,
    frozen   boolean NOT NULL,
    supplier boolean NOT NULL,
    docket   boolean NOT NULL,
    seq      bigint NOT NULL REFERENCES entry
);
