-- What the shop prints on. The usual sizes are shipped with the program; a row here adds one or takes another's place.

CREATE TABLE label_size (
    id         uuid PRIMARY KEY,
    name       text NOT NULL CONSTRAINT label_size_name_key UNIQUE,
    -- Millimetres.
    width      numeric(10,4) NOT NULL CHECK (width > 0),
    height     numeric(10,4) NOT NULL CHECK (height > 0),
    -- What it was typed in, and is printed in: 'mm' or 'in'.
    unit       text NOT NULL CHECK (unit IN ('mm', 'in')),
    uses       text NOT NULL CHECK (uses IN ('tag', 'pack', 'both')),
    -- A sheet of labels: its paper, how many there are across and down, and where the first one begins. NULL on a roll.
    paper      text CHECK (paper IN ('A4', 'letter')),
    across     smallint,
    down       smallint,
    from_left  numeric(10,4),
    from_top   numeric(10,4),
    gap_across numeric(10,4),
    gap_down   numeric(10,4),
    retired    boolean NOT NULL,
    seq        bigint NOT NULL REFERENCES entry,
    CHECK (num_nulls(paper, across, down, from_left, from_top, gap_across, gap_down) IN (0, 7))
);
