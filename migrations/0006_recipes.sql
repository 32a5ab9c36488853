-- Formulas by proportion. A version that was used never changes; a change is the next version.

CREATE TABLE recipe (
    id      uuid PRIMARY KEY,
    name    text NOT NULL CONSTRAINT recipe_name_key UNIQUE,
    retired boolean NOT NULL,
    seq     bigint NOT NULL REFERENCES entry
);

CREATE TABLE recipe_version (
    recipe      uuid NOT NULL REFERENCES recipe,
    version     integer NOT NULL CHECK (version > 0),
    kind        text NOT NULL CHECK (kind IN ('dry cure, equilibrium', 'dry cure, excess salt', 'ground and fermented',
                                              'ground, fresh', 'brine')),
    -- What it makes, in the shop's list.
    product     uuid NOT NULL REFERENCES item,
    -- Brine only: weight of the pickle, per cent of the meat.
    brine       numeric(10,4),
    -- What the drying aims at, per cent of green weight.
    target_loss numeric(10,4),
    -- Days between weigh-ins while it hangs.
    weigh_every smallint,
    note        text NOT NULL,
    written_at  timestamptz NOT NULL,
    seq         bigint NOT NULL REFERENCES entry,
    PRIMARY KEY (recipe, version)
);

CREATE TABLE recipe_line (
    recipe    uuid NOT NULL,
    version   integer NOT NULL,
    n         smallint NOT NULL,
    role      text NOT NULL CHECK (role IN ('meat', 'fat', 'salt', 'cure', 'sugar', 'spice', 'culture', 'casing', 'water')),
    item      uuid NOT NULL REFERENCES item,
    percent   numeric(10,4) NOT NULL CHECK (percent >= 0),
    per       text NOT NULL CHECK (per IN ('meat', 'whole', 'brine')),
    -- How far the weight may be from its target, per cent of the target.
    tolerance numeric(10,4) NOT NULL,
    -- Salt and sugar in a cure or a mix, per cent of its own weight, where the pack says.
    salt      numeric(10,4),
    sugar     numeric(10,4),
    seq       bigint NOT NULL REFERENCES entry,
    PRIMARY KEY (recipe, version, n),
    FOREIGN KEY (recipe, version) REFERENCES recipe_version
);

-- What follows after the making, in order: so many hours in each stage.
CREATE TABLE recipe_step (
    recipe  uuid NOT NULL,
    version integer NOT NULL,
    n       smallint NOT NULL,
    stage   text NOT NULL CHECK (stage IN ('curing', 'resting', 'fermenting', 'drying', 'holding')),
    hours   integer NOT NULL CHECK (hours > 0),
    note    text NOT NULL,
    seq     bigint NOT NULL REFERENCES entry,
    PRIMARY KEY (recipe, version, n),
    FOREIGN KEY (recipe, version) REFERENCES recipe_version
);
