-- What a data logger measured. Samples are not entries one by one: each import is sealed by an entry that carries their
-- count, their extremes and their SHA-256, so this table is evidence of its own beside the book, and as little to be
-- changed.

CREATE TABLE sample (
    place    uuid NOT NULL REFERENCES place,
    quantity text NOT NULL CHECK (quantity IN ('temperature', 'humidity')),
    at       timestamptz NOT NULL,
    -- In the quantity's own unit: °C, %RH.
    value    numeric(10,4) NOT NULL,
    -- The id of the entry that seals it.
    import   uuid NOT NULL,
    PRIMARY KEY (place, quantity, at)
);
CREATE INDEX sample_by_import ON sample (import);
COMMENT ON TABLE sample IS 'sealed by samples.sealed';
CREATE TRIGGER sample_in_ink BEFORE UPDATE OR DELETE ON sample FOR EACH ROW EXECUTE FUNCTION written_in_ink();
CREATE TRIGGER sample_not_emptied BEFORE TRUNCATE ON sample FOR EACH STATEMENT EXECUTE FUNCTION written_in_ink();
