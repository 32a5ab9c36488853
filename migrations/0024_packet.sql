-- Packets: that one was made, and the file that was handed over.

CREATE TABLE packet (
    seq    bigint PRIMARY KEY REFERENCES entry,
    -- What it is of, as it stands in its address.
    scope  text NOT NULL,
    name   text NOT NULL,
    reader text NOT NULL,
    -- The last line of the book when it was drawn.
    upto   bigint NOT NULL,
    lines  integer NOT NULL CHECK (lines > 0),
    -- SHA-256 of the file.
    sha256 bytea NOT NULL CHECK (octet_length(sha256) = 32)
);
CREATE INDEX packet_of_scope ON packet (scope, seq DESC);

-- The file itself. Its hash is in the book; whatever else stands here is not the file that was handed over.
CREATE TABLE packet_file (
    seq bigint PRIMARY KEY REFERENCES entry,
    pdf bytea NOT NULL
);
COMMENT ON TABLE packet_file IS 'no evidence';
