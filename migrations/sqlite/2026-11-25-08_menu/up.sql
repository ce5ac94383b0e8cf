CREATE TABLE menu_draft (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL UNIQUE REFERENCES shop (id),
    content TEXT NOT NULL,
    version INTEGER NOT NULL CHECK (version > 0),
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
    UNIQUE (shop_id, id)
) STRICT;

CREATE TABLE menu_revision (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    number INTEGER NOT NULL CHECK (number > 0),
    valid_from INTEGER NOT NULL,
    note TEXT NOT NULL,
    content TEXT NOT NULL,
    digest TEXT NOT NULL CHECK (length(digest) = 64),
    published_by TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    UNIQUE (shop_id, id),
    UNIQUE (shop_id, number)
) STRICT;

CREATE INDEX menu_revision_in_force ON menu_revision (shop_id, valid_from, number);

CREATE TRIGGER menu_revision_is_final BEFORE UPDATE ON menu_revision BEGIN
    SELECT RAISE(ABORT, 'a published menu never changes');
END;

CREATE TRIGGER menu_revision_stays BEFORE DELETE ON menu_revision BEGIN
    SELECT RAISE(ABORT, 'a published menu is never removed');
END;
