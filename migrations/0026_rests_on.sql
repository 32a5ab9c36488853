-- The lines that a release rested on, piece by piece: when one of them is struck, what was let go by it is held.

CREATE TABLE rests_on (
    -- The release.
    seq       bigint NOT NULL REFERENCES entry,
    lot       uuid NOT NULL REFERENCES lot,
    -- The line that was read for the criterion.
    entry     bigint NOT NULL REFERENCES entry,
    criterion text NOT NULL,
    PRIMARY KEY (entry, seq, lot, criterion)
);

-- Releases that were signed before this table was there. A criterion without a piece was met for every piece that went.
INSERT INTO rests_on (seq, lot, entry, criterion)
SELECT DISTINCT e.seq, (p->'lot'->>'id')::uuid, b.line::bigint, m->>'criterion'
FROM entry e
CROSS JOIN LATERAL jsonb_array_elements(e.body::jsonb->'pieces') p
CROSS JOIN LATERAL jsonb_array_elements(e.body::jsonb->'shown'->'met') m
CROSS JOIN LATERAL jsonb_array_elements_text(m->'by') AS b(line)
WHERE e.kind = 'pieces.released' AND e.body::jsonb ? 'shown'
  AND (m->>'piece' IS NULL OR m->>'piece' = p->'lot'->>'id');
