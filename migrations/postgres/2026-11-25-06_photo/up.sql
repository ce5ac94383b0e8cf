CREATE TABLE photo (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    digest TEXT NOT NULL CHECK (length(digest) = 64),
    bytes BIGINT NOT NULL CHECK (bytes > 0),
    width INTEGER NOT NULL CHECK (width > 0),
    height INTEGER NOT NULL CHECK (height > 0),
    thumb_digest TEXT NOT NULL CHECK (length(thumb_digest) = 64),
    thumb_bytes BIGINT NOT NULL CHECK (thumb_bytes BETWEEN 1 AND 25000),
    thumb_width INTEGER NOT NULL CHECK (thumb_width > 0),
    thumb_height INTEGER NOT NULL CHECK (thumb_height > 0),
    created_at BIGINT NOT NULL,
    UNIQUE (shop_id, id)
);

CREATE INDEX photo_by_digest ON photo (shop_id, digest);
CREATE INDEX photo_by_thumb_digest ON photo (shop_id, thumb_digest);
