-- A deviation may be one that no plan foresees, and a lot may be decided to be reworked.
ALTER TABLE deviation ADD COLUMN unforeseen boolean NOT NULL DEFAULT false;
ALTER TABLE deviation_lot DROP CONSTRAINT deviation_lot_decision_check;
ALTER TABLE deviation_lot ADD CONSTRAINT deviation_lot_decision_check
    CHECK (decision IN ('lift the hold', 'keep on hold', 'rework', 'discard'));
