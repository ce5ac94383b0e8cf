CREATE TABLE reminder (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    kind TEXT NOT NULL CHECK (kind IN ('BEFORE_BOOKING', 'BEFORE_LAPSE', 'OVERDUE', 'COME_BACK')),
    subject_kind TEXT NOT NULL CHECK (subject_kind IN ('booking', 'quote', 'invoice')),
    subject_id TEXT NOT NULL,
    occasion TEXT NOT NULL CHECK (occasion <> ''),
    customer_id TEXT NOT NULL,
    way TEXT NOT NULL CHECK (way IN ('MAIL', 'DESK')),
    message_id TEXT,
    sent_on TEXT NOT NULL CHECK (length(sent_on) = 10),
    created_at INTEGER NOT NULL,
    UNIQUE (shop_id, id),
    -- Each is given once, however many programs run.
    UNIQUE (shop_id, kind, subject_id, occasion),
    FOREIGN KEY (shop_id, customer_id) REFERENCES customer (shop_id, id),
    FOREIGN KEY (shop_id, message_id) REFERENCES message (shop_id, id),
    CHECK ((way = 'MAIL') = (message_id IS NOT NULL))
) STRICT;

CREATE INDEX reminder_by_customer ON reminder (shop_id, customer_id, id);
