CREATE TABLE record (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    seq INTEGER NOT NULL CHECK (seq > 0),
    at INTEGER NOT NULL,
    actor_kind TEXT NOT NULL,
    actor_id TEXT NOT NULL,
    action TEXT NOT NULL,
    subject_kind TEXT NOT NULL,
    subject_id TEXT NOT NULL,
    detail TEXT NOT NULL,
    previous TEXT NOT NULL,
    digest TEXT NOT NULL,
    UNIQUE (shop_id, seq)
) STRICT;

CREATE INDEX record_by_subject ON record (shop_id, subject_id, seq);

CREATE TRIGGER record_is_final BEFORE UPDATE ON record BEGIN
    SELECT RAISE(ABORT, 'a record of the log never changes');
END;

CREATE TRIGGER record_stays BEFORE DELETE ON record BEGIN
    SELECT RAISE(ABORT, 'a record of the log is never removed');
END;

CREATE TABLE idempotency (
    shop_id TEXT NOT NULL REFERENCES shop (id),
    route TEXT NOT NULL,
    key TEXT NOT NULL,
    print TEXT NOT NULL,
    status INTEGER NOT NULL,
    location TEXT NOT NULL,
    etag TEXT NOT NULL,
    body TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    PRIMARY KEY (shop_id, route, key)
) STRICT;

CREATE INDEX idempotency_by_age ON idempotency (created_at);
