-- Digests of mail addresses and telephone numbers of erased customers, made with a secret of the shop's own, so that an old
-- list that is imported again is noticed. They say nothing to whoever has only them.
CREATE TABLE erased_key (
    shop_id TEXT NOT NULL REFERENCES shop (id),
    digest TEXT NOT NULL CHECK (length(digest) = 64),
    erased_at INTEGER NOT NULL,
    PRIMARY KEY (shop_id, digest)
) STRICT;

CREATE TABLE erased_key_secret (
    shop_id TEXT NOT NULL PRIMARY KEY REFERENCES shop (id),
    secret TEXT NOT NULL CHECK (length(secret) = 64)
) STRICT;
