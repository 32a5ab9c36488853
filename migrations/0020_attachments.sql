-- Papers attached to what they speak of: letters of guarantee, certificates, laboratory results, photographs. What a paper is and
-- the SHA-256 of its bytes stand in the entry; the bytes lie beside the book and are as little to be changed.

CREATE TABLE paper (
    id        uuid PRIMARY KEY,
    -- What it belongs to: a thing by its id, or a line of the book by its number.
    about     text NOT NULL,
    subject   uuid,
    line      bigint REFERENCES entry,
    sort      text NOT NULL,
    name      text NOT NULL,
    note      text NOT NULL,
    media     text NOT NULL,
    bytes     integer NOT NULL CHECK (bytes > 0),
    sha256    bytea NOT NULL CHECK (octet_length(sha256) = 32),
    seq       bigint NOT NULL REFERENCES entry,
    struck_by bigint REFERENCES entry,
    CONSTRAINT paper_of_one_thing CHECK (num_nonnulls(subject, line) = 1)
);
CREATE INDEX paper_of_thing ON paper (subject, seq) WHERE subject IS NOT NULL;
CREATE INDEX paper_of_line ON paper (line, seq) WHERE line IS NOT NULL;

CREATE TABLE paper_body (
    paper uuid PRIMARY KEY REFERENCES paper,
    -- At most 10 MB.
    body  bytea NOT NULL CHECK (octet_length(body) BETWEEN 1 AND 10485760)
);
COMMENT ON TABLE paper_body IS 'sealed by paper.attached';
-- What is packed already does not get smaller.
ALTER TABLE paper_body ALTER COLUMN body SET STORAGE EXTERNAL;
CREATE TRIGGER paper_body_in_ink BEFORE UPDATE OR DELETE ON paper_body FOR EACH ROW EXECUTE FUNCTION written_in_ink();
CREATE TRIGGER paper_body_not_emptied BEFORE TRUNCATE ON paper_body FOR EACH STATEMENT EXECUTE FUNCTION written_in_ink();

-- Only the bytes that were signed are laid beside the entry.
CREATE FUNCTION paper_body_as_signed() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NOT EXISTS (SELECT 1 FROM paper p WHERE p.id = NEW.paper AND p.sha256 = sha256(NEW.body)
                   AND p.bytes = octet_length(NEW.body)) THEN
        RAISE EXCEPTION 'these are not the bytes that were signed';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER paper_body_as_signed BEFORE INSERT ON paper_body FOR EACH ROW EXECUTE FUNCTION paper_body_as_signed();
