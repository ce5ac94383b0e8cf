CREATE TABLE proposal (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    state TEXT NOT NULL CHECK (state IN ('OPEN', 'ACCEPTED')),
    content TEXT NOT NULL,
    version INTEGER NOT NULL CHECK (version >= 1),
    created_at INTEGER NOT NULL,
    accepted_at INTEGER,
    UNIQUE (shop_id, id),
    CHECK ((state = 'ACCEPTED') = (accepted_at IS NOT NULL))
) STRICT;
