CREATE TABLE quote (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    number TEXT NOT NULL,
    series TEXT NOT NULL CHECK (series <> ''),
    year INTEGER NOT NULL,
    counter BIGINT NOT NULL CHECK (counter > 0),
    customer_id TEXT NOT NULL,
    vehicle_id TEXT NOT NULL,
    latest INTEGER NOT NULL CHECK (latest > 0),
    version BIGINT NOT NULL,
    created_at BIGINT NOT NULL,
    updated_at BIGINT NOT NULL,
    UNIQUE (shop_id, id),
    UNIQUE (shop_id, number),
    UNIQUE (shop_id, series, year, counter),
    FOREIGN KEY (shop_id, customer_id) REFERENCES customer (shop_id, id),
    FOREIGN KEY (shop_id, vehicle_id) REFERENCES vehicle (shop_id, id)
);

CREATE INDEX quote_by_customer ON quote (shop_id, customer_id, id);
CREATE INDEX quote_by_vehicle ON quote (shop_id, vehicle_id, id);

CREATE TABLE quote_revision (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    quote_id TEXT NOT NULL,
    number INTEGER NOT NULL CHECK (number > 0),
    state TEXT NOT NULL CHECK (state IN ('DRAFT', 'SENT', 'SIGNED', 'DECLINED', 'LAPSED', 'WITHDRAWN', 'REPLACED')),
    payable BIGINT,
    sent_at BIGINT,
    holds_until BIGINT,
    decided_at BIGINT,
    reason TEXT,
    created_at BIGINT NOT NULL,
    updated_at BIGINT NOT NULL,
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
);

CREATE UNIQUE INDEX quote_revision_one_draft ON quote_revision (shop_id, quote_id) WHERE state = 'DRAFT';
CREATE UNIQUE INDEX quote_revision_one_sent ON quote_revision (shop_id, quote_id) WHERE state = 'SENT';
CREATE INDEX quote_revision_due ON quote_revision (shop_id, state, holds_until);

CREATE FUNCTION quote_revision_guard() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' THEN
        RAISE EXCEPTION 'a revision is never removed';
    END IF;
    IF OLD.state <> 'DRAFT' AND (NEW.document, NEW.digest, NEW.menu, NEW.draft, NEW.payable, NEW.sent_at, NEW.holds_until)
        IS DISTINCT FROM (OLD.document, OLD.digest, OLD.menu, OLD.draft, OLD.payable, OLD.sent_at, OLD.holds_until)
        -- Only what nobody signed loses its customer once they are erased.
        AND NOT (OLD.state NOT IN ('SENT', 'SIGNED')
            AND (NEW.payable, NEW.sent_at, NEW.holds_until)
                IS NOT DISTINCT FROM (OLD.payable, OLD.sent_at, OLD.holds_until)
            AND EXISTS (SELECT 1 FROM quote q JOIN customer c ON c.shop_id = q.shop_id AND c.id = q.customer_id
                WHERE q.id = OLD.quote_id AND c.erased_at IS NOT NULL)) THEN
        RAISE EXCEPTION 'what was sent never changes';
    END IF;
    IF NEW.state <> OLD.state AND NOT (
        (OLD.state = 'DRAFT' AND NEW.state = 'SENT')
        OR (OLD.state = 'SENT' AND NEW.state IN ('SIGNED', 'DECLINED', 'LAPSED', 'WITHDRAWN', 'REPLACED'))) THEN
        RAISE EXCEPTION 'a quote has no such move';
    END IF;
    RETURN NEW;
END
$$;

CREATE TRIGGER quote_revision_guard BEFORE UPDATE OR DELETE ON quote_revision
    FOR EACH ROW EXECUTE FUNCTION quote_revision_guard();
