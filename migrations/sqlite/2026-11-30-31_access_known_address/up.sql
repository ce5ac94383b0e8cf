-- Addresses from which somebody has signed in to an account, as digests: guesses from elsewhere don't slow them.
CREATE TABLE known_address (
    key TEXT NOT NULL CHECK (length(key) = 64),
    shop_id TEXT NOT NULL REFERENCES shop (id),
    until INTEGER NOT NULL,
    PRIMARY KEY (key, shop_id)
) STRICT;
