-- Data loggers: the imports of their samples, each sealed by an entry, and the devices that send by themselves.

-- A struck import leaves its samples where they are, in ink, beside those that are imported in their stead.
ALTER TABLE sample DROP CONSTRAINT sample_pkey;
ALTER TABLE sample ADD PRIMARY KEY (place, quantity, at, import);

-- A device that sends its samples itself, admitted by the person in whose name it signs.
CREATE TABLE logger (
    id       uuid PRIMARY KEY,
    name     text NOT NULL,
    -- Where it measures.
    place    uuid NOT NULL REFERENCES place,
    person   uuid NOT NULL REFERENCES person,
    ended_by bigint REFERENCES entry,
    seq      bigint NOT NULL REFERENCES entry
);
CREATE UNIQUE INDEX logger_name_key ON logger (lower(name)) WHERE ended_by IS NULL;

-- How a device proves that it is the one. The book says which device sent, not how it proved it.
CREATE TABLE logger_secret (
    -- SHA-256 of the token that it sends.
    token_hash bytea PRIMARY KEY CHECK (octet_length(token_hash) = 32),
    logger     uuid NOT NULL
);
COMMENT ON TABLE logger_secret IS 'no evidence';

-- An import of samples, as its entry sealed it.
CREATE TABLE sample_import (
    id        uuid PRIMARY KEY,
    place     uuid NOT NULL REFERENCES place,
    logger    uuid REFERENCES logger,
    -- The file, or the device.
    source    text NOT NULL,
    samples   integer NOT NULL CHECK (samples > 0),
    first_at  timestamptz NOT NULL,
    last_at   timestamptz NOT NULL,
    -- SHA-256 over the canonical text of the samples.
    sha256    bytea NOT NULL CHECK (octet_length(sha256) = 32),
    struck_by bigint REFERENCES entry,
    seq       bigint NOT NULL REFERENCES entry
);
CREATE INDEX sample_import_of_place ON sample_import (place, seq DESC);

-- The samples that stand.
CREATE VIEW sample_standing AS
    SELECT s.place, s.quantity, s.at, s.value, s.import
    FROM sample s JOIN sample_import i ON i.id = s.import WHERE i.struck_by IS NULL;

-- How the columns of a file were read last, by its header: what the next file like it starts from.
CREATE TABLE logger_columns (
    header  text PRIMARY KEY,
    columns text NOT NULL
);
COMMENT ON TABLE logger_columns IS 'no evidence';

-- A file that somebody is looking through before signing it.
CREATE TABLE logger_draft (
    id      uuid PRIMARY KEY,
    person  uuid NOT NULL REFERENCES person,
    place   uuid NOT NULL REFERENCES place,
    name    text NOT NULL,
    body    text NOT NULL,
    made_at timestamptz NOT NULL
);
COMMENT ON TABLE logger_draft IS 'no evidence';
