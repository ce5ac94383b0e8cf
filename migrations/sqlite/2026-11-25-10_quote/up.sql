CREATE TABLE quote (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    number TEXT NOT NULL,
    series TEXT NOT NULL CHECK (series <> ''),
    year INTEGER NOT NULL,
    counter INTEGER NOT NULL CHECK (counter > 0),
    customer_id TEXT NOT NULL,
    vehicle_id TEXT NOT NULL,
    latest INTEGER NOT NULL CHECK (latest > 0),
    version INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
    UNIQUE (shop_id, id),
    UNIQUE (shop_id, number),
    UNIQUE (shop_id, series, year, counter),
    FOREIGN KEY (shop_id, customer_id) REFERENCES customer (shop_id, id),
    FOREIGN KEY (shop_id, vehicle_id) REFERENCES vehicle (shop_id, id)
) STRICT;

CREATE INDEX quote_by_customer ON quote (shop_id, customer_id, id);
CREATE INDEX quote_by_vehicle ON quote (shop_id, vehicle_id, id);

CREATE TABLE quote_revision (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    quote_id TEXT NOT NULL,
    number INTEGER NOT NULL CHECK (number > 0),
    state TEXT NOT NULL CHECK (state IN ('DRAFT', 'SENT', 'SIGNED', 'DECLINED', 'LAPSED', 'WITHDRAWN', 'REPLACED')),
    payable INTEGER,
    sent_at INTEGER,
    holds_until INTEGER,
    decided_at INTEGER,
    reason TEXT,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
    digest TEXT CHECK (length(digest) = 64),
    -- What is long stands last: SQLite reads through it to reach a column behind it.
    draft TEXT NOT NULL,
    document TEXT,
    menu TEXT,
    UNIQUE (shop_id, id),
    UNIQUE (shop_id, quote_id, number),
    FOREIGN KEY (shop_id, quote_id) REFERENCES quote (shop_id, id),
    -- What was sent is frozen, whole, with its digest; a draft has none of it.
    CHECK ((state = 'DRAFT') = (document IS NULL)),
    CHECK ((document IS NULL) = (digest IS NULL)),
    CHECK ((document IS NULL) = (menu IS NULL)),
    CHECK ((document IS NULL) = (sent_at IS NULL)),
    CHECK ((document IS NULL) = (holds_until IS NULL)),
    CHECK (holds_until > sent_at),
    CHECK ((state IN ('DRAFT', 'SENT')) = (decided_at IS NULL))
) STRICT;

CREATE UNIQUE INDEX quote_revision_one_draft ON quote_revision (shop_id, quote_id) WHERE state = 'DRAFT';
CREATE UNIQUE INDEX quote_revision_one_sent ON quote_revision (shop_id, quote_id) WHERE state = 'SENT';
CREATE INDEX quote_revision_due ON quote_revision (shop_id, state, holds_until);

-- What was sent stays as it was; only what nobody signed loses its customer once they are erased.
CREATE TRIGGER quote_revision_is_frozen BEFORE UPDATE ON quote_revision
WHEN OLD.state <> 'DRAFT' AND (NEW.document IS NOT OLD.document OR NEW.digest IS NOT OLD.digest
    OR NEW.menu IS NOT OLD.menu OR NEW.draft IS NOT OLD.draft OR NEW.payable IS NOT OLD.payable
    OR NEW.sent_at IS NOT OLD.sent_at OR NEW.holds_until IS NOT OLD.holds_until)
    AND NOT (OLD.state NOT IN ('SENT', 'SIGNED') AND NEW.payable IS OLD.payable AND NEW.sent_at IS OLD.sent_at
        AND NEW.holds_until IS OLD.holds_until AND EXISTS (SELECT 1 FROM quote q JOIN customer c
            ON c.shop_id = q.shop_id AND c.id = q.customer_id WHERE q.id = OLD.quote_id AND c.erased_at IS NOT NULL))
BEGIN
    SELECT RAISE(ABORT, 'what was sent never changes');
END;

CREATE TRIGGER quote_revision_moves BEFORE UPDATE ON quote_revision
WHEN NEW.state <> OLD.state AND NOT (
    (OLD.state = 'DRAFT' AND NEW.state = 'SENT')
    OR (OLD.state = 'SENT' AND NEW.state IN ('SIGNED', 'DECLINED', 'LAPSED', 'WITHDRAWN', 'REPLACED')))
BEGIN
    SELECT RAISE(ABORT, 'a quote has no such move');
END;

CREATE TRIGGER quote_revision_stays BEFORE DELETE ON quote_revision BEGIN
    SELECT RAISE(ABORT, 'a revision is never removed');
END;
