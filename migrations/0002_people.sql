-- The shop and the people who sign in it.

-- One row: what the shop last said of itself.
CREATE TABLE shop (
    one            boolean PRIMARY KEY DEFAULT true CONSTRAINT shop_is_one CHECK (one),
    name           text NOT NULL,
    address        text NOT NULL,
    number         text NOT NULL,
    system         text NOT NULL CHECK (system IN ('metric', 'us')),
    zone           text NOT NULL,
    currency       text NOT NULL,
    small_division numeric(14,2) NOT NULL CHECK (small_division > 0),
    large_division numeric(14,2) NOT NULL CHECK (large_division > 0),
    seq            bigint NOT NULL REFERENCES entry
);

-- People are never deleted, only retired.
CREATE TABLE person (
    id         uuid PRIMARY KEY,
    name       text NOT NULL,
    -- What is typed to sign in; lower case.
    sign_in    text NOT NULL CONSTRAINT person_sign_in_key UNIQUE,
    initials   text NOT NULL CONSTRAINT person_initials_key UNIQUE,
    roles      text[] NOT NULL,
    retired_by bigint REFERENCES entry,
    seq        bigint NOT NULL REFERENCES entry
);

-- Secrets, hashed. No evidence rests on them: the book says who signed, not how they proved it.
CREATE TABLE credential (
    person   uuid PRIMARY KEY REFERENCES person,
    password text NOT NULL,
    pin      text
);
COMMENT ON TABLE credential IS 'no evidence';

CREATE TABLE session (
    -- SHA-256 of the token in the cookie.
    token_hash bytea PRIMARY KEY CHECK (octet_length(token_hash) = 32),
    person     uuid NOT NULL REFERENCES person,
    began_at   timestamptz NOT NULL,
    seen_at    timestamptz NOT NULL
);
CREATE INDEX session_by_person ON session (person);
COMMENT ON TABLE session IS 'no evidence';

CREATE TABLE preference (
    person uuid PRIMARY KEY REFERENCES person,
    theme  text NOT NULL DEFAULT '' CHECK (theme IN ('', 'light', 'dark'))
);
COMMENT ON TABLE preference IS 'no evidence';

-- A browser on which somebody has signed in with name and password; its people may then switch there by PIN.
CREATE TABLE device (
    -- SHA-256 of the token in its cookie.
    token_hash bytea PRIMARY KEY CHECK (octet_length(token_hash) = 32),
    began_at   timestamptz NOT NULL
);
COMMENT ON TABLE device IS 'no evidence';

CREATE TABLE device_person (
    device       bytea NOT NULL REFERENCES device ON DELETE CASCADE,
    person       uuid NOT NULL REFERENCES person,
    -- When they last gave their password there.
    signed_in_at timestamptz NOT NULL,
    -- Since then, or since the last right one.
    wrong_pins   smallint NOT NULL DEFAULT 0 CHECK (wrong_pins >= 0),
    PRIMARY KEY (device, person)
);
CREATE INDEX device_person_by_person ON device_person (person);
COMMENT ON TABLE device_person IS 'no evidence';

-- Tries to sign in that have not come out right, by name and by address. In the database, so that a second instance of
-- the program counts the same tries.
CREATE TABLE wrong_sign_in (
    -- SHA-256 of what was tried or of where it came from: people type passwords into the wrong field.
    key     bytea PRIMARY KEY CHECK (octet_length(key) = 32),
    tries   integer NOT NULL CHECK (tries >= 0),
    last_at timestamptz NOT NULL
);
CREATE INDEX wrong_sign_in_by_time ON wrong_sign_in (last_at);
COMMENT ON TABLE wrong_sign_in IS 'no evidence';
