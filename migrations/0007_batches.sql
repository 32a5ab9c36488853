-- One making of a recipe version: the meat and the ingredients that went in, its stages, its pieces.

CREATE TABLE batch (
    id          uuid PRIMARY KEY,
    code        text NOT NULL CONSTRAINT batch_code_key UNIQUE,
    recipe      uuid NOT NULL REFERENCES recipe,
    version     integer NOT NULL,
    product     uuid NOT NULL REFERENCES item,
    -- The lot that everything is weighed into: the mix, the cure, or the brine. Its code is the batch's.
    mix         uuid NOT NULL CONSTRAINT batch_mix_key UNIQUE REFERENCES lot,
    -- The meat block that the ingredients are scaled to.
    meat_target numeric(14,2) NOT NULL CHECK (meat_target > 0),
    begun_at    timestamptz NOT NULL,
    -- Where it stands: 'making' until the first stage of words.md, then that stage.
    stage       text NOT NULL CHECK (stage IN ('making', 'curing', 'resting', 'fermenting', 'drying', 'holding',
                                               'released')),
    stage_at    timestamptz NOT NULL,
    stage_place uuid REFERENCES place,
    struck_by   bigint REFERENCES entry,
    seq         bigint NOT NULL REFERENCES entry,
    FOREIGN KEY (recipe, version) REFERENCES recipe_version
);
CREATE INDEX batch_by_day ON batch (begun_at DESC);
CREATE INDEX batch_by_stage ON batch (stage) WHERE struck_by IS NULL;

CREATE TABLE batch_stage (
    seq       bigint PRIMARY KEY REFERENCES entry,
    batch     uuid NOT NULL REFERENCES batch,
    stage     text NOT NULL,
    place     uuid REFERENCES place,
    at        timestamptz NOT NULL,
    struck_by bigint REFERENCES entry
);
CREATE INDEX batch_stage_by_batch ON batch_stage (batch, seq);

-- Meat taken from a lot: into the mix, or as one muscle that becomes a piece.
CREATE TABLE batch_meat (
    seq       bigint PRIMARY KEY REFERENCES entry,
    batch     uuid NOT NULL REFERENCES batch,
    lot       uuid NOT NULL REFERENCES lot,
    -- Which line of the recipe it is for, where the recipe names several meats.
    line      smallint,
    grams     numeric(14,2) NOT NULL CHECK (grams > 0),
    piece     uuid REFERENCES lot,
    struck_by bigint REFERENCES entry
);
CREATE INDEX batch_meat_by_batch ON batch_meat (batch, seq);

-- An ingredient weighed against its target. Water has no lot: it comes from its account.
CREATE TABLE batch_ingredient (
    seq       bigint PRIMARY KEY REFERENCES entry,
    batch     uuid NOT NULL REFERENCES batch,
    line      smallint NOT NULL,
    item      uuid NOT NULL REFERENCES item,
    lot       uuid REFERENCES lot,
    target    numeric(14,2) NOT NULL,
    grams     numeric(14,2) NOT NULL CHECK (grams > 0),
    -- 'within' its tolerance, or 'outside' it with the reason why it was signed all the same.
    verdict   text NOT NULL CHECK (verdict IN ('within', 'outside')),
    reason    text NOT NULL,
    -- Strength of the lot that it came from, per cent as NaNO2 and NaNO3, as its pack said then.
    nitrite   numeric(10,4),
    nitrate   numeric(10,4),
    struck_by bigint REFERENCES entry
);
CREATE INDEX batch_ingredient_by_batch ON batch_ingredient (batch, seq);

-- The mix, cure or brine laid on the pieces.
CREATE TABLE batch_applied (
    seq       bigint PRIMARY KEY REFERENCES entry,
    batch     uuid NOT NULL REFERENCES batch,
    grams     numeric(14,2) NOT NULL CHECK (grams > 0),
    -- What was left over and thrown away.
    left_over numeric(14,2) NOT NULL,
    reason    text NOT NULL,
    struck_by bigint REFERENCES entry
);
CREATE INDEX batch_applied_by_batch ON batch_applied (batch, seq);

-- The mix made into pieces.
CREATE TABLE batch_stuffed (
    seq          bigint PRIMARY KEY REFERENCES entry,
    batch        uuid NOT NULL REFERENCES batch,
    pieces       integer NOT NULL CHECK (pieces > 0),
    -- What the pieces weigh together.
    grams        numeric(14,2) NOT NULL CHECK (grams > 0),
    casing       uuid REFERENCES lot,
    casing_grams numeric(14,2) NOT NULL,
    diameter_mm  smallint,
    loss         numeric(14,2) NOT NULL,
    found        numeric(14,2) NOT NULL,
    reason       text NOT NULL,
    struck_by    bigint REFERENCES entry
);
CREATE INDEX batch_stuffed_by_batch ON batch_stuffed (batch, seq);

-- A hanging thing: a muscle in cure, a stuffed salami. Its code is the batch's with a number of its own.
CREATE TABLE piece (
    lot         uuid PRIMARY KEY REFERENCES lot,
    batch       uuid NOT NULL REFERENCES batch,
    product     uuid NOT NULL REFERENCES item,
    -- Weight when it went into cure or was hung: the base of every loss.
    green       numeric(14,2) NOT NULL CHECK (green > 0),
    green_at    timestamptz NOT NULL,
    target_loss numeric(10,4),
    weigh_every smallint,
    casing      uuid REFERENCES lot,
    diameter_mm smallint,
    -- The entry that let it go to sale.
    released_by bigint REFERENCES entry,
    struck_by   bigint REFERENCES entry,
    seq         bigint NOT NULL REFERENCES entry
);
CREATE INDEX piece_by_batch ON piece (batch);
