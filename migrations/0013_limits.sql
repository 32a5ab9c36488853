-- Limits on what goes into cured meat: whose the shop holds itself to, which rows it switched on, and its own. What a
-- recipe and a batch need to say so that a limit's scope is known, and weights as they were typed.

-- Every adoption: the last one before a batch was begun is the one that it is held to.
CREATE TABLE limits_adopted (
    seq          bigint PRIMARY KEY REFERENCES entry,
    jurisdiction text NOT NULL CHECK (jurisdiction IN ('United States', 'European Union', 'Great Britain', 'Canada')),
    at           timestamptz NOT NULL
);

-- The latest word on a shipped row that waits for one: confirmed, or taken up as a minimum; and by what.
CREATE TABLE curing_limit_switch (
    key      text PRIMARY KEY,
    is_on    boolean NOT NULL,
    document text NOT NULL,
    reason   text NOT NULL,
    at       timestamptz NOT NULL,
    seq      bigint NOT NULL REFERENCES entry
);

-- The shop's own limits. A looser one stands instead of the adopted rows that it names.
CREATE TABLE curing_limit (
    id          uuid PRIMARY KEY,
    name        text NOT NULL CONSTRAINT curing_limit_name_key UNIQUE,
    substance   text NOT NULL,
    way         text,
    product     text,
    least       numeric(14,4),
    most        numeric(14,4),
    base        text NOT NULL,
    stated      text NOT NULL,
    reason      text NOT NULL,
    document    text NOT NULL,
    begins      date,
    ends        date,
    instead_of  text[] NOT NULL,
    retired     boolean NOT NULL,
    seq         bigint NOT NULL REFERENCES entry
);

-- The salt that a pack states its strength in; sodium where nothing is said.
ALTER TABLE received
    ADD COLUMN nitrite_salt text CHECK (nitrite_salt IN ('sodium', 'potassium')),
    ADD COLUMN nitrate_salt text CHECK (nitrate_salt IN ('sodium', 'potassium'));

ALTER TABLE recipe_version
    -- How the cure meets the meat, where the kind alone does not say it.
    ADD COLUMN way         text,
    -- Per cent of the green weight.
    ADD COLUMN pump        numeric(10,4),
    ADD COLUMN pick_up     numeric(10,4),
    -- What the product falls under, as limits tell products apart.
    ADD COLUMN falls_under text,
    -- Water in the meat, per cent, where it is known.
    ADD COLUMN moisture    numeric(10,4);

ALTER TABLE recipe_line
    DROP CONSTRAINT recipe_line_role_check,
    ADD CONSTRAINT recipe_line_role_check CHECK (role IN ('meat', 'fat', 'salt', 'cure', 'accelerator', 'sugar', 'spice',
                                                          'culture', 'casing', 'water')),
    -- Ascorbate, erythorbate or their acids in it, and how much of its own weight, per cent.
    ADD COLUMN accelerator       text,
    ADD COLUMN accelerator_share numeric(10,4);

-- Grams as they were typed, where the ledger's 0.01 g do not say it all: a limit is held against these.
ALTER TABLE batch_meat ADD COLUMN exact numeric;
ALTER TABLE batch_ingredient
    ADD COLUMN exact        numeric,
    ADD COLUMN nitrite_salt text,
    ADD COLUMN nitrate_salt text;
