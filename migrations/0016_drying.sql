-- What a product is dried to beyond the loss of its recipe, as the shop last wrote it.

CREATE TABLE drying_target (
    product          uuid PRIMARY KEY REFERENCES item,
    -- Each at most; none where it is no target.
    water_activity   numeric(10,4),
    ph               numeric(10,4),
    moisture_protein numeric(10,4),
    source           text NOT NULL,
    seq              bigint NOT NULL REFERENCES entry
);
