-- Plans and the programmes beside them: drafts, signed versions, and what is recorded of their checks besides readings.

CREATE TABLE plan (
    id        uuid PRIMARY KEY,
    sort      text NOT NULL CHECK (sort IN ('plan', 'programme')),
    name      text NOT NULL,
    -- The latest draft, or the signed version where nothing was drafted since; as the entry says it.
    document  text NOT NULL,
    -- The starting plan that it was written from; empty where it was not.
    shipped   text NOT NULL,
    -- The version that stands, 0 where none was signed.
    version   integer NOT NULL CHECK (version >= 0),
    -- Whether the latest draft is not signed.
    draft     boolean NOT NULL,
    seq       bigint NOT NULL REFERENCES entry
);
CREATE UNIQUE INDEX plan_name_key ON plan (lower(name));

CREATE TABLE plan_version (
    plan      uuid NOT NULL REFERENCES plan,
    version   integer NOT NULL CHECK (version > 0),
    document  text NOT NULL,
    -- The kinds of recipe whose batches stand under it.
    covers    text[] NOT NULL,
    reason    text NOT NULL,
    signed_at timestamptz NOT NULL,
    signed_by uuid NOT NULL,
    seq       bigint NOT NULL REFERENCES entry,
    PRIMARY KEY (plan, version)
);
CREATE INDEX plan_version_by_seq ON plan_version (seq);

-- The version that a batch was begun under, as its line: the latest that covered its kind of recipe then.
CREATE FUNCTION plan_of_batch(which uuid) RETURNS bigint LANGUAGE sql STABLE AS $$
    SELECT v.seq FROM batch b JOIN recipe_version y ON y.recipe = b.recipe AND y.version = b.version
    JOIN plan_version v ON y.kind = ANY(v.covers) AND v.seq < b.seq
    WHERE b.id = which ORDER BY v.seq DESC LIMIT 1
$$;

CREATE FUNCTION a_signed_version_never_changes() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'version % of a plan is signed: it never changes', OLD.version;
END $$;
CREATE TRIGGER a_signed_version_never_changes BEFORE UPDATE ON plan_version FOR EACH ROW
    EXECUTE FUNCTION a_signed_version_never_changes();

-- Since when a check is asked for: when the first version that holds it was signed.
CREATE TABLE planned_check (
    id       uuid PRIMARY KEY,
    plan     uuid NOT NULL REFERENCES plan,
    since_at timestamptz NOT NULL,
    seq      bigint NOT NULL REFERENCES entry
);

CREATE TABLE plan_reassessment (
    seq     bigint PRIMARY KEY REFERENCES entry,
    plan    uuid NOT NULL REFERENCES plan,
    version integer NOT NULL,
    at      timestamptz NOT NULL,
    reason  text NOT NULL
);
CREATE INDEX plan_reassessment_of ON plan_reassessment (plan, seq);

-- A check that is answered and not measured.
CREATE TABLE check_answer (
    seq       bigint PRIMARY KEY REFERENCES entry,
    -- The planned check, the same in every version.
    planned   uuid NOT NULL,
    -- What it was about: a place, a lot or a batch.
    subject   uuid NOT NULL,
    yes       boolean NOT NULL,
    at        timestamptz NOT NULL,
    struck_by bigint REFERENCES entry
);
CREATE INDEX check_answer_of ON check_answer (planned, subject, at);

-- A check that was not made in time, written down.
CREATE TABLE check_missed (
    seq        bigint PRIMARY KEY REFERENCES entry,
    planned    uuid NOT NULL,
    subject    uuid NOT NULL,
    from_at    timestamptz NOT NULL,
    until_at   timestamptz NOT NULL,
    times      integer NOT NULL CHECK (times > 0)
);
CREATE INDEX check_missed_of ON check_missed (planned, subject, until_at);

CREATE TABLE monitoring_observation (
    seq      bigint PRIMARY KEY REFERENCES entry,
    planned  uuid NOT NULL,
    who      uuid NOT NULL,
    in_order boolean NOT NULL,
    words    text NOT NULL,
    at       timestamptz NOT NULL
);
CREATE INDEX monitoring_observation_of ON monitoring_observation (planned, seq);

-- A limit of a plan is for the batches that the plan covers; empty: for all.
ALTER TABLE check_limit ADD COLUMN only_kinds text[] NOT NULL DEFAULT '{}';

CREATE INDEX reading_by_quantity ON reading (quantity, at DESC) WHERE struck_by IS NULL;
