CREATE TABLE plan (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    quote_id TEXT NOT NULL,
    number INTEGER NOT NULL CHECK (number > 0),
    revision_id TEXT NOT NULL,
    variations TEXT NOT NULL,
    customer_id TEXT NOT NULL,
    vehicle_id TEXT NOT NULL,
    deposit BIGINT CHECK (deposit > 0),
    content TEXT NOT NULL,
    digest TEXT NOT NULL CHECK (length(digest) = 64),
    created_at BIGINT NOT NULL,
    UNIQUE (shop_id, id),
    UNIQUE (shop_id, quote_id, number),
    FOREIGN KEY (shop_id, customer_id) REFERENCES customer (shop_id, id),
    FOREIGN KEY (shop_id, vehicle_id) REFERENCES vehicle (shop_id, id)
);
