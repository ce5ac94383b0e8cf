CREATE TABLE feed (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    token_hash TEXT NOT NULL UNIQUE CHECK (length(token_hash) = 64),
    bay_id TEXT,
    person_id TEXT,
    created_at BIGINT NOT NULL,
    revoked_at BIGINT,
    UNIQUE (shop_id, id),
    FOREIGN KEY (shop_id, bay_id) REFERENCES bay (shop_id, id),
    FOREIGN KEY (shop_id, person_id) REFERENCES person (shop_id, id),
    -- Of a bay or of a person, never both.
    CHECK ((bay_id IS NULL) <> (person_id IS NULL))
);
