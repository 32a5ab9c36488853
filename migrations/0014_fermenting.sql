-- Degree-hours of fermenting batches are reckoned from readings and samples whenever they are asked for. What is kept is
-- which rule set the shop goes by, and how each run came out when it was judged.

CREATE TABLE fermentation_rule (
    one         boolean PRIMARY KEY DEFAULT true CONSTRAINT fermentation_rule_is_one CHECK (one),
    rules       text NOT NULL CHECK (rules IN ('united states', 'canada')),
    method      text NOT NULL CHECK (method IN ('formula', 'printed')),
    -- What is true exactly at the limit.
    edge        text NOT NULL CHECK (edge IN ('at most', 'less than')),
    -- Hours; readings further apart say nothing of the time between them.
    largest_gap smallint NOT NULL CHECK (largest_gap > 0),
    source      text NOT NULL,
    seq         bigint NOT NULL REFERENCES entry
);

CREATE TABLE fermentation_judged (
    seq       bigint PRIMARY KEY REFERENCES entry,
    batch     uuid NOT NULL REFERENCES batch,
    outcome   text NOT NULL CHECK (outcome IN ('met', 'over', 'within', 'unknown')),
    -- Degree-hours, or hours of the printed table, and what they were held against.
    figure    numeric NOT NULL,
    most      numeric NOT NULL,
    -- Up to when it was reckoned: the end of the count, or when it was judged.
    until     timestamptz NOT NULL,
    struck_by bigint REFERENCES entry
);
CREATE INDEX fermentation_judged_by_batch ON fermentation_judged (batch, seq);
