-- Families of products, what each asks before a piece is sold, the review of a batch's records, and the guards behind
-- the release.

-- Laboratories state moisture to protein; it is read like any other value.
ALTER TABLE reading DROP CONSTRAINT reading_quantity_check;
ALTER TABLE reading ADD CONSTRAINT reading_quantity_check
    CHECK (quantity IN ('temperature', 'humidity', 'ph', 'water activity', 'chlorine', 'moisture to protein'));
ALTER TABLE check_limit DROP CONSTRAINT check_limit_quantity_check;
ALTER TABLE check_limit ADD CONSTRAINT check_limit_quantity_check
    CHECK (quantity IN ('temperature', 'humidity', 'ph', 'water activity', 'chlorine', 'moisture to protein'));

CREATE TABLE family (
    id          uuid PRIMARY KEY,
    name        text NOT NULL,
    -- The shipped family that it was written from.
    shipped     text NOT NULL,
    -- How often it was written.
    version     integer NOT NULL CHECK (version > 0),
    -- Its criteria and what was loosened, as the entry says them.
    criteria    text NOT NULL,
    loosened    text NOT NULL,
    asks_review boolean NOT NULL,
    seq         bigint NOT NULL REFERENCES entry
);
CREATE UNIQUE INDEX family_name_key ON family (lower(name));

-- Which family a product is in; one without a family is not released.
CREATE TABLE product_family (
    product uuid PRIMARY KEY REFERENCES item,
    family  uuid NOT NULL REFERENCES family,
    seq     bigint NOT NULL REFERENCES entry
);

-- A batch's records looked over before anything of it is sold, up to a line of the book.
CREATE TABLE review (
    id        uuid PRIMARY KEY,
    batch     uuid NOT NULL REFERENCES batch,
    upto      bigint NOT NULL,
    -- Whether whoever signed it had made records of the batch as well, being the only person of the shop.
    alone     boolean NOT NULL,
    note      text NOT NULL,
    struck_by bigint REFERENCES entry,
    seq       bigint NOT NULL REFERENCES entry
);
CREATE INDEX review_of_batch ON review (batch, seq);

-- The lines that speak of a batch, of its mix or of its pieces, or of a deviation that concerns any of them.
CREATE FUNCTION lines_of_batch(which uuid) RETURNS SETOF bigint LANGUAGE sql STABLE AS $$
    WITH own AS (
        SELECT which AS subject UNION SELECT b.mix FROM batch b WHERE b.id = which
        UNION SELECT p.lot FROM piece p WHERE p.batch = which
    )
    SELECT DISTINCT a.seq FROM about a
    WHERE a.subject IN (SELECT subject FROM own
                        UNION SELECT n.deviation FROM deviation_lot n JOIN own ON own.subject = n.lot
                        UNION SELECT d.id FROM deviation d WHERE d.batch = which)
$$;

-- Whether a kind of line leaves the evidence of a batch as it is: weigh-ins and moves, packs, dispatches and discards,
-- releases and reviews.
CREATE FUNCTION leaves_evidence(kind text) RETURNS boolean LANGUAGE sql IMMUTABLE AS $$
    SELECT kind IN ('piece.weighed', 'lots.moved', 'lot.packed', 'lots.dispatched', 'lots.discarded', 'pieces.released',
                    'records.reviewed')
$$;

-- The first line about a batch after this one that changes its evidence; a strike changes what the struck line did.
CREATE FUNCTION evidence_changed_by(which uuid, after bigint) RETURNS bigint LANGUAGE sql STABLE AS $$
    SELECT min(e.seq) FROM lines_of_batch(which) AS l(seq)
    JOIN entry e ON e.seq = l.seq
    LEFT JOIN strike s ON s.by_seq = e.seq LEFT JOIN entry o ON o.seq = s.seq
    WHERE e.seq > after AND NOT leaves_evidence(coalesce(o.kind, e.kind))
$$;

-- The review of a batch that stands: not struck, and nothing has changed since.
CREATE FUNCTION standing_review(which uuid) RETURNS uuid LANGUAGE sql STABLE AS $$
    SELECT r.id FROM review r
    WHERE r.batch = which AND r.struck_by IS NULL AND evidence_changed_by(which, r.upto) IS NULL
    ORDER BY r.seq DESC LIMIT 1
$$;

-- The same rules stand in the program; here they hold whatever the program says.
CREATE FUNCTION only_what_is_reviewed_is_released() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF EXISTS (SELECT 1 FROM product_family f JOIN family y ON y.id = f.family
               WHERE f.product = NEW.product AND y.asks_review) AND standing_review(NEW.batch) IS NULL THEN
        RAISE EXCEPTION 'the records of the batch of piece % are not reviewed: it cannot be released',
            (SELECT l.code FROM lot l WHERE l.id = NEW.lot);
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER only_what_is_reviewed_is_released BEFORE UPDATE OF released_by ON piece FOR EACH ROW
    WHEN (OLD.released_by IS NULL AND NEW.released_by IS NOT NULL)
    EXECUTE FUNCTION only_what_is_reviewed_is_released();

CREATE FUNCTION only_what_is_for_sale_is_packed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NOT for_sale(NEW.source) THEN
        RAISE EXCEPTION 'lot % is not released and cannot be packed',
            (SELECT l.code FROM lot l WHERE l.id = NEW.source);
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER only_what_is_for_sale_is_packed BEFORE INSERT ON pack FOR EACH ROW
    EXECUTE FUNCTION only_what_is_for_sale_is_packed();

-- The lot on hold that a pack was packed from, where there is one: it holds the pack as well.
CREATE FUNCTION held_behind(which uuid) RETURNS text LANGUAGE sql STABLE AS $$
    WITH RECURSIVE back AS (
        SELECT k.source AS id FROM pack k WHERE k.lot = which AND k.struck_by IS NULL
        UNION
        SELECT k.source FROM back b JOIN pack k ON k.lot = b.id AND k.struck_by IS NULL
    )
    SELECT l.code FROM back b JOIN lot l ON l.id = b.id
    WHERE EXISTS (SELECT 1 FROM hold h WHERE h.lot = l.id AND h.lifted_by IS NULL)
    ORDER BY l.code LIMIT 1
$$;

CREATE OR REPLACE FUNCTION only_what_is_for_sale_leaves() RETURNS trigger LANGUAGE plpgsql AS $$
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
    SELECT l.code INTO kept
    FROM added c JOIN added m ON m.seq = c.seq AND m.grams < 0 JOIN lot l ON l.id = m.lot
    WHERE c.account = 'customer' AND c.grams > 0 AND held_behind(l.id) IS NOT NULL
    LIMIT 1;
    IF kept IS NOT NULL THEN
        RAISE EXCEPTION 'what lot % was packed from is on hold: it cannot leave', kept;
    END IF;
    RETURN NULL;
END $$;
