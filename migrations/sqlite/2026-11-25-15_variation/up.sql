CREATE TABLE variation (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    quote_id TEXT NOT NULL,
    revision_id TEXT NOT NULL,
    booking_id TEXT NOT NULL,
    number INTEGER NOT NULL CHECK (number > 0),
    state TEXT NOT NULL CHECK (state IN ('DRAFT', 'SENT', 'SIGNED', 'DECLINED')),
    draft TEXT NOT NULL,
    document TEXT,
    digest TEXT CHECK (length(digest) = 64),
    change INTEGER,
    sent_at INTEGER,
    decided_at INTEGER,
    reason TEXT,
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
    UNIQUE (shop_id, id),
    UNIQUE (shop_id, quote_id, number),
    FOREIGN KEY (shop_id, quote_id) REFERENCES quote (shop_id, id),
    FOREIGN KEY (shop_id, revision_id) REFERENCES quote_revision (shop_id, id),
    FOREIGN KEY (shop_id, booking_id) REFERENCES booking (shop_id, id),
    -- What was sent is frozen, whole, with its digest; a draft has none of it.
    CHECK ((state = 'DRAFT') = (document IS NULL)),
    CHECK ((document IS NULL) = (digest IS NULL)),
    CHECK ((document IS NULL) = (change IS NULL)),
    CHECK ((document IS NULL) = (sent_at IS NULL)),
    CHECK ((state IN ('DRAFT', 'SENT')) = (decided_at IS NULL))
) STRICT;

CREATE INDEX variation_by_revision ON variation (shop_id, revision_id, number);

CREATE TRIGGER variation_frozen BEFORE UPDATE ON variation
WHEN OLD.state <> 'DRAFT' AND (NEW.document IS NOT OLD.document OR NEW.digest IS NOT OLD.digest
    OR NEW.draft IS NOT OLD.draft OR NEW.change IS NOT OLD.change OR NEW.sent_at IS NOT OLD.sent_at)
    -- Only what nobody signed loses its customer once they are erased.
    AND NOT (OLD.state = 'DECLINED' AND NEW.change IS OLD.change AND NEW.sent_at IS OLD.sent_at
        AND EXISTS (SELECT 1 FROM quote q JOIN customer c ON c.shop_id = q.shop_id AND c.id = q.customer_id
            WHERE q.id = OLD.quote_id AND c.erased_at IS NOT NULL))
BEGIN
    SELECT RAISE(ABORT, 'what was sent never changes');
END;

CREATE TRIGGER variation_moves BEFORE UPDATE ON variation
WHEN NEW.state <> OLD.state AND NOT (
    (OLD.state = 'DRAFT' AND NEW.state = 'SENT')
    OR (OLD.state = 'SENT' AND NEW.state IN ('SIGNED', 'DECLINED')))
BEGIN
    SELECT RAISE(ABORT, 'a variation has no such move');
END;

CREATE TRIGGER variation_stays BEFORE DELETE ON variation BEGIN
    SELECT RAISE(ABORT, 'a variation is never removed');
END;
