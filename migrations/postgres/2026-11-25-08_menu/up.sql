CREATE TABLE menu_draft (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL UNIQUE REFERENCES shop (id),
    content TEXT NOT NULL,
    version BIGINT NOT NULL CHECK (version > 0),
    created_at BIGINT NOT NULL,
    updated_at BIGINT NOT NULL,
    UNIQUE (shop_id, id)
);

CREATE TABLE menu_revision (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    number BIGINT NOT NULL CHECK (number > 0),
    valid_from BIGINT NOT NULL,
    note TEXT NOT NULL,
    content TEXT NOT NULL,
    digest TEXT NOT NULL CHECK (length(digest) = 64),
    published_by TEXT NOT NULL,
    created_at BIGINT NOT NULL,
    UNIQUE (shop_id, id),
    UNIQUE (shop_id, number)
);

CREATE INDEX menu_revision_in_force ON menu_revision (shop_id, valid_from, number);

CREATE FUNCTION menu_revision_stays() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'a published menu never changes and is never removed';
END
$$;

CREATE TRIGGER menu_revision_stays BEFORE UPDATE OR DELETE ON menu_revision
    FOR EACH ROW EXECUTE FUNCTION menu_revision_stays();
