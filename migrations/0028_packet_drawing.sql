-- Packets of many lines are drawn beside the requests. What is being drawn, how far it is, and the file when it is done: none of it
-- is evidence before somebody signs for it.

CREATE TABLE packet_drawing (
    id      uuid PRIMARY KEY,
    scope   text NOT NULL,
    -- Of the database's own clock: when it was asked for, and when the drawing last said how far it is.
    at      timestamptz NOT NULL DEFAULT now(),
    beat_at timestamptz NOT NULL DEFAULT now(),
    percent integer NOT NULL DEFAULT 0 CHECK (percent BETWEEN 0 AND 100),
    failed  boolean NOT NULL DEFAULT false,
    -- What its cover says, when it is done.
    name    text,
    upto    bigint,
    head    text,
    lines   integer,
    -- Its tables: the key, the name and the rows of each.
    tables  jsonb,
    pdf     bytea,
    CONSTRAINT done_or_not CHECK (num_nulls(name, upto, head, lines, tables, pdf) IN (0, 6))
);
COMMENT ON TABLE packet_drawing IS 'no evidence';
ALTER TABLE packet_drawing ALTER COLUMN pdf SET STORAGE EXTERNAL;
CREATE INDEX packet_drawing_of ON packet_drawing (scope, at DESC);

-- The file of a packet that was signed for is sealed by its line, as a paper is.
COMMENT ON TABLE packet_file IS 'sealed by packet.made';
CREATE TRIGGER packet_file_in_ink BEFORE UPDATE OR DELETE ON packet_file FOR EACH ROW EXECUTE FUNCTION written_in_ink();
CREATE TRIGGER packet_file_not_emptied BEFORE TRUNCATE ON packet_file FOR EACH STATEMENT EXECUTE FUNCTION written_in_ink();
CREATE FUNCTION packet_file_as_signed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NOT EXISTS (SELECT 1 FROM packet p WHERE p.seq = NEW.seq AND p.sha256 = sha256(NEW.pdf)) THEN
        RAISE EXCEPTION 'these are not the bytes that were signed';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER packet_file_as_signed BEFORE INSERT ON packet_file FOR EACH ROW EXECUTE FUNCTION packet_file_as_signed();
