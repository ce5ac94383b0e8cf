CREATE TABLE enquiry (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    state TEXT NOT NULL CHECK (state IN ('OPEN', 'QUOTED', 'CLOSED')),
    channel TEXT NOT NULL CHECK (channel IN ('PHONE', 'VISIT', 'MAIL', 'MESSAGE', 'OTHER')),
    customer_id TEXT,
    caller_name TEXT CHECK (caller_name <> ''),
    caller_email TEXT,
    caller_phone TEXT,
    may_mail INTEGER NOT NULL CHECK (may_mail IN (0, 1)),
    may_phone INTEGER NOT NULL CHECK (may_phone IN (0, 1)),
    vehicle_id TEXT,
    vehicle_words TEXT NOT NULL,
    wish TEXT NOT NULL,
    wanted_by TEXT,
    notes TEXT NOT NULL,
    quote_id TEXT,
    close_reason TEXT
        CHECK (close_reason IN ('WON', 'TOO_DEAR', 'TOO_LATE', 'NOT_OFFERED', 'NO_ANSWER', 'NO_ENQUIRY', 'OTHER')),
    close_note TEXT,
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
    UNIQUE (shop_id, id),
    FOREIGN KEY (shop_id, customer_id) REFERENCES customer (shop_id, id),
    FOREIGN KEY (shop_id, vehicle_id) REFERENCES vehicle (shop_id, id),
    FOREIGN KEY (shop_id, quote_id) REFERENCES quote (shop_id, id),
    CHECK (customer_id IS NOT NULL OR caller_name IS NOT NULL),
    CHECK (vehicle_id IS NULL OR customer_id IS NOT NULL),
    CHECK (caller_name IS NOT NULL OR (caller_email IS NULL AND caller_phone IS NULL)),
    CHECK (state <> 'QUOTED' OR quote_id IS NOT NULL),
    CHECK (state <> 'OPEN' OR quote_id IS NULL),
    CHECK ((state = 'CLOSED') = (close_reason IS NOT NULL)),
    CHECK (close_reason IS NOT NULL OR close_note IS NULL)
) STRICT;

CREATE INDEX enquiry_by_state ON enquiry (shop_id, state, id);
CREATE INDEX enquiry_by_customer ON enquiry (shop_id, customer_id, id);
