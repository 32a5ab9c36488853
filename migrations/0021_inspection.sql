-- An inspector's sign-in is open for so many days, and the shop may keep its records longer than the law asks.

-- Until when somebody who only reads may sign in; none where no end was set.
ALTER TABLE person ADD COLUMN admitted_until timestamptz;

-- How long the shop keeps a class of records, where it said so itself.
CREATE TABLE retention (
    class  text PRIMARY KEY,
    months integer NOT NULL CHECK (months > 0),
    reason text NOT NULL,
    seq    bigint NOT NULL REFERENCES entry
);
