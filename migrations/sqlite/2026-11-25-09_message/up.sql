CREATE TABLE message (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    kind TEXT NOT NULL,
    about_kind TEXT NOT NULL,
    about_id TEXT NOT NULL,
    from_name TEXT NOT NULL,
    reply_to TEXT NOT NULL,
    to_name TEXT NOT NULL,
    to_email TEXT NOT NULL CHECK (to_email LIKE '%_@_%'),
    to_key TEXT NOT NULL,
    subject TEXT NOT NULL,
    text TEXT NOT NULL,
    html TEXT NOT NULL,
    header_id TEXT NOT NULL UNIQUE,
    state TEXT NOT NULL CHECK (state IN ('QUEUED', 'SENDING', 'SENT', 'FAILED')),
    tries INTEGER NOT NULL CHECK (tries >= 0),
    due_at INTEGER NOT NULL,
    lease TEXT,
    trouble TEXT NOT NULL,
    sent_at INTEGER,
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
    UNIQUE (shop_id, id),
    CHECK ((state = 'SENDING') = (lease IS NOT NULL)),
    CHECK ((state = 'SENT') = (sent_at IS NOT NULL))
) STRICT;

CREATE INDEX message_to_send ON message (shop_id, to_key, id) WHERE state IN ('QUEUED', 'SENDING');
CREATE INDEX message_due ON message (due_at) WHERE state IN ('QUEUED', 'SENDING');
CREATE INDEX message_by_state ON message (shop_id, state, id);
CREATE INDEX message_by_subject ON message (shop_id, about_id, id);

CREATE TABLE message_attachment (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    message_id TEXT NOT NULL,
    place INTEGER NOT NULL CHECK (place >= 0),
    name TEXT NOT NULL,
    media_type TEXT NOT NULL,
    bytes BLOB NOT NULL,
    UNIQUE (shop_id, message_id, place),
    FOREIGN KEY (shop_id, message_id) REFERENCES message (shop_id, id)
) STRICT;

CREATE TABLE clock_run (
    shop_id TEXT NOT NULL REFERENCES shop (id),
    job TEXT NOT NULL,
    period INTEGER NOT NULL,
    ran_at INTEGER NOT NULL,
    PRIMARY KEY (shop_id, job)
) STRICT;
