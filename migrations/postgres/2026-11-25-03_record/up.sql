CREATE TABLE record (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    seq BIGINT NOT NULL CHECK (seq > 0),
    at BIGINT NOT NULL,
    actor_kind TEXT NOT NULL,
    actor_id TEXT NOT NULL,
    action TEXT NOT NULL,
    subject_kind TEXT NOT NULL,
    subject_id TEXT NOT NULL,
    detail TEXT NOT NULL,
    previous TEXT NOT NULL,
    digest TEXT NOT NULL,
    UNIQUE (shop_id, seq)
);

CREATE INDEX record_by_subject ON record (shop_id, subject_id, seq);

CREATE FUNCTION record_stays() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'a record of the log never changes and is never removed';
END
$$;

CREATE TRIGGER record_stays BEFORE UPDATE OR DELETE ON record
    FOR EACH ROW EXECUTE FUNCTION record_stays();

CREATE TABLE idempotency (
    shop_id TEXT NOT NULL REFERENCES shop (id),
    route TEXT NOT NULL,
    key TEXT NOT NULL,
    print TEXT NOT NULL,
    status INTEGER NOT NULL,
    location TEXT NOT NULL,
    etag TEXT NOT NULL,
    body TEXT NOT NULL,
    created_at BIGINT NOT NULL,
    PRIMARY KEY (shop_id, route, key)
);

CREATE INDEX idempotency_by_age ON idempotency (created_at);
