CREATE TABLE customer (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    kind TEXT NOT NULL CHECK (kind IN ('PRIVATE', 'TRADE')),
    reference TEXT,
    name TEXT NOT NULL CHECK (name <> ''),
    contact_name TEXT,
    emails TEXT NOT NULL,
    phones TEXT NOT NULL,
    address_lines TEXT NOT NULL,
    city TEXT,
    postcode TEXT,
    region TEXT,
    country TEXT CHECK (length(country) = 2),
    vat_id TEXT,
    purchase_order_required BOOLEAN NOT NULL,
    prices TEXT CHECK (prices IN ('NET', 'GROSS')),
    notes TEXT NOT NULL,
    language TEXT NOT NULL,
    erased_at BIGINT,
    version BIGINT NOT NULL,
    created_at BIGINT NOT NULL,
    updated_at BIGINT NOT NULL,
    UNIQUE (shop_id, id),
    UNIQUE (shop_id, reference),
    CHECK ((city IS NULL) = (country IS NULL))
);

CREATE TABLE customer_consent (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    customer_id TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('MAIL', 'PHONE', 'MARKETING', 'PHOTOS')),
    how TEXT NOT NULL,
    given_at BIGINT NOT NULL,
    withdrawn_at BIGINT CHECK (withdrawn_at >= given_at),
    FOREIGN KEY (shop_id, customer_id) REFERENCES customer (shop_id, id)
);

CREATE INDEX customer_consent_by_customer ON customer_consent (shop_id, customer_id);

-- At most one consent of a kind stands at a time.
CREATE UNIQUE INDEX customer_consent_standing ON customer_consent (shop_id, customer_id, kind) WHERE withdrawn_at IS NULL;
