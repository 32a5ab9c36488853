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
