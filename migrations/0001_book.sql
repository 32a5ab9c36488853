-- The book: one append-only record, mass as double entry, and what follows from both for every lot.
-- Tables here are either evidence (entry, movement: never changed, never deleted) or projections of it.

CREATE TABLE entry (
    seq         bigint PRIMARY KEY CHECK (seq > 0),
    id          uuid NOT NULL CONSTRAINT entry_id_key UNIQUE,
    kind        text NOT NULL,
    happened_at timestamptz NOT NULL,
    recorded_at timestamptz NOT NULL,
    person      uuid NOT NULL,
    -- Canonical JSON as text, byte for byte what was hashed. jsonb would reorder it.
    body        text NOT NULL,
    prev_hash   bytea NOT NULL CHECK (octet_length(prev_hash) = 32),
    hash        bytea NOT NULL UNIQUE CHECK (octet_length(hash) = 32)
);
CREATE INDEX entry_by_kind ON entry (kind, seq);
CREATE INDEX entry_by_day ON entry (happened_at, seq);

CREATE FUNCTION entry_follows() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    head entry%ROWTYPE;
BEGIN
    SELECT * INTO head FROM entry ORDER BY seq DESC LIMIT 1;
    IF NEW.seq <> coalesce(head.seq, 0) + 1 THEN
        RAISE EXCEPTION 'entry % does not follow entry %', NEW.seq, coalesce(head.seq, 0);
    END IF;
    IF NEW.prev_hash <> coalesce(head.hash, decode(repeat('00', 32), 'hex')) THEN
        RAISE EXCEPTION 'entry % does not carry the hash of the entry before it', NEW.seq;
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER entry_follows BEFORE INSERT ON entry FOR EACH ROW EXECUTE FUNCTION entry_follows();

CREATE FUNCTION written_in_ink() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '% is written in ink: a line is struck by a later one, never changed', TG_TABLE_NAME;
END $$;
CREATE TRIGGER entry_in_ink BEFORE UPDATE OR DELETE ON entry FOR EACH ROW EXECUTE FUNCTION written_in_ink();
CREATE TRIGGER entry_not_emptied BEFORE TRUNCATE ON entry FOR EACH STATEMENT EXECUTE FUNCTION written_in_ink();

-- A lot: anything with an identity and a weight. `grams` is kept by movements alone.
CREATE TABLE lot (
    id          uuid PRIMARY KEY,
    code        text NOT NULL CONSTRAINT lot_code_key UNIQUE,
    -- The parts of the code, for "the next number of this day" and "the next piece of this lot".
    code_day    text NOT NULL,
    code_number integer NOT NULL,
    code_piece  integer,
    form        text NOT NULL CHECK (form IN ('carcass', 'side', 'primal', 'cut', 'trim', 'bone', 'fat', 'offal',
                                              'ingredient', 'casing', 'mix', 'piece', 'pack')),
    item        uuid NOT NULL,
    item_name   text NOT NULL,
    place       uuid,
    opened_at   timestamptz NOT NULL,
    seq         bigint NOT NULL REFERENCES entry,
    grams       numeric(14,2) NOT NULL DEFAULT 0 CONSTRAINT lot_not_below_zero CHECK (grams >= 0),
    struck_by   bigint REFERENCES entry
);
CREATE INDEX lot_by_day ON lot (code_day, code_number, code_piece);
CREATE INDEX lot_by_place ON lot (place) WHERE grams > 0;
CREATE INDEX lot_by_item ON lot (item) WHERE grams > 0;

CREATE TABLE movement (
    seq     bigint NOT NULL REFERENCES entry,
    n       smallint NOT NULL,
    lot     uuid REFERENCES lot,
    account text CHECK (account IN ('supplier', 'customer', 'cutting loss', 'purge', 'drying', 'waste', 'sample',
                                    'found', 'missing', 'water')),
    -- Which supplier or which customer.
    party   uuid,
    grams   numeric(14,2) NOT NULL CHECK (grams <> 0),
    PRIMARY KEY (seq, n),
    CHECK ((lot IS NULL) <> (account IS NULL)),
    CHECK (party IS NULL OR account IS NOT NULL)
);
-- The two walks of a trace: out of a lot, and into one.
CREATE INDEX movement_out ON movement (lot, seq) INCLUDE (grams) WHERE grams < 0 AND lot IS NOT NULL;
CREATE INDEX movement_in ON movement (lot, seq) INCLUDE (grams) WHERE grams > 0 AND lot IS NOT NULL;
CREATE INDEX movement_party ON movement (party, seq) WHERE party IS NOT NULL;

CREATE TRIGGER movement_in_ink BEFORE UPDATE OR DELETE ON movement FOR EACH ROW EXECUTE FUNCTION written_in_ink();
CREATE TRIGGER movement_not_emptied BEFORE TRUNCATE ON movement FOR EACH STATEMENT EXECUTE FUNCTION written_in_ink();

CREATE FUNCTION movements_sum_to_zero() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    rest numeric;
BEGIN
    SELECT sum(grams) INTO rest FROM movement WHERE seq = NEW.seq;
    IF rest <> 0 THEN
        RAISE EXCEPTION 'entry % does not balance: its movements sum to % g', NEW.seq, rest;
    END IF;
    RETURN NULL;
END $$;
CREATE CONSTRAINT TRIGGER movements_sum_to_zero AFTER INSERT ON movement
    DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION movements_sum_to_zero();

-- Why a lot may not be used; open until an entry lifts it.
CREATE TABLE hold (
    lot       uuid NOT NULL REFERENCES lot,
    seq       bigint NOT NULL REFERENCES entry,
    reason    text NOT NULL,
    lifted_by bigint REFERENCES entry,
    PRIMARY KEY (lot, seq)
);
CREATE INDEX hold_open ON hold (lot) WHERE lifted_by IS NULL;

CREATE FUNCTION movements_weigh_lots() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    held text;
BEGIN
    SELECT l.code INTO held
    FROM added c JOIN added m ON m.seq = c.seq AND m.grams < 0 JOIN lot l ON l.id = m.lot
    WHERE c.account = 'customer' AND c.grams > 0
      AND EXISTS (SELECT 1 FROM hold h WHERE h.lot = l.id AND h.lifted_by IS NULL)
    LIMIT 1;
    IF held IS NOT NULL THEN
        RAISE EXCEPTION 'lot % is on hold and cannot leave', held;
    END IF;
    UPDATE lot SET grams = lot.grams + s.grams
    FROM (SELECT a.lot AS id, sum(a.grams) AS grams FROM added a WHERE a.lot IS NOT NULL GROUP BY a.lot) s
    WHERE lot.id = s.id;
    RETURN NULL;
END $$;
CREATE TRIGGER movements_weigh_lots AFTER INSERT ON movement
    REFERENCING NEW TABLE AS added FOR EACH STATEMENT EXECUTE FUNCTION movements_weigh_lots();

-- Where each lot was put, and by which entry; the latest that is not struck is where it is.
CREATE TABLE put (
    lot   uuid NOT NULL REFERENCES lot,
    seq   bigint NOT NULL REFERENCES entry,
    place uuid NOT NULL,
    PRIMARY KEY (lot, seq)
);

-- Which entries speak of what: a lot, a batch, a delivery, a place. `role` says how strongly.
CREATE TABLE about (
    subject uuid NOT NULL,
    seq     bigint NOT NULL REFERENCES entry,
    role    text NOT NULL CHECK (role IN ('opens', 'settles', 'moves', 'names')),
    PRIMARY KEY (subject, seq)
);
CREATE INDEX about_by_entry ON about (seq);

CREATE TABLE strike (
    seq    bigint PRIMARY KEY REFERENCES entry,
    by_seq bigint NOT NULL UNIQUE REFERENCES entry,
    reason text NOT NULL
);

-- Whose initials stand at the end of a line.
CREATE TABLE signer (
    id       uuid PRIMARY KEY,
    name     text NOT NULL,
    initials text NOT NULL,
    seq      bigint NOT NULL REFERENCES entry
);

-- What was sent under a form's number, so that the same form sent twice is one entry and another one is not lost.
CREATE TABLE sent (
    id     uuid PRIMARY KEY,
    digest bytea NOT NULL
);
COMMENT ON TABLE sent IS 'no evidence';
