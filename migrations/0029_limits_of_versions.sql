-- A limit of a version of a plan is for the batches that were begun under it.
ALTER TABLE check_limit ADD COLUMN under bigint REFERENCES entry;
