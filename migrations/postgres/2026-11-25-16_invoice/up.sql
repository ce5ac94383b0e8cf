CREATE TABLE invoice (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    customer_id TEXT NOT NULL,
    quote_id TEXT,
    state TEXT NOT NULL CHECK (state IN ('DRAFT', 'ISSUED', 'PART_PAID', 'PAID', 'CREDITED', 'WRITTEN_OFF')),
    series TEXT NOT NULL,
    year INTEGER NOT NULL,
    counter BIGINT CHECK (counter > 0),
    number TEXT,
    buyer_name TEXT NOT NULL,
    issued_on TEXT CHECK (length(issued_on) = 10),
    due_on TEXT CHECK (length(due_on) = 10 AND due_on >= issued_on),
    net BIGINT NOT NULL,
    tax BIGINT NOT NULL,
    payable BIGINT NOT NULL,
    open BIGINT NOT NULL CHECK (open >= 0),
    paid BIGINT NOT NULL CHECK (paid >= 0),
    written_off BIGINT NOT NULL CHECK (written_off >= 0),
    document TEXT NOT NULL,
    digest TEXT CHECK (length(digest) = 64),
    issued_at BIGINT,
    mailed_at BIGINT,
    version BIGINT NOT NULL CHECK (version > 0),
    created_at BIGINT NOT NULL,
    updated_at BIGINT NOT NULL,
    UNIQUE (shop_id, id),
    UNIQUE (shop_id, number),
    UNIQUE (shop_id, series, year, counter),
    FOREIGN KEY (shop_id, customer_id) REFERENCES customer (shop_id, id),
    FOREIGN KEY (shop_id, quote_id) REFERENCES quote (shop_id, id),
    CHECK ((state = 'DRAFT') = (number IS NULL)),
    CHECK ((number IS NULL) = (counter IS NULL)),
    CHECK ((number IS NULL) = (digest IS NULL)),
    CHECK ((number IS NULL) = (issued_on IS NULL)),
    CHECK ((number IS NULL) = (due_on IS NULL)),
    CHECK ((number IS NULL) = (issued_at IS NULL)),
    CHECK (state = 'DRAFT' OR payable >= 0),
    CHECK (state <> 'ISSUED' OR paid = 0),
    CHECK (state <> 'PART_PAID' OR (paid > 0 AND open > 0)),
    CHECK (state <> 'PAID' OR open = 0),
    CHECK (state = 'CREDITED' OR state = 'DRAFT' OR paid + open + written_off <= payable)
);

CREATE UNIQUE INDEX invoice_of_quote ON invoice (shop_id, quote_id) WHERE state <> 'CREDITED';
CREATE INDEX invoice_by_state ON invoice (shop_id, state, id);
CREATE INDEX invoice_by_customer ON invoice (shop_id, customer_id, id);
CREATE INDEX invoice_open ON invoice (shop_id, due_on) WHERE state IN ('ISSUED', 'PART_PAID');

CREATE FUNCTION invoice_is_final() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' THEN
        RAISE EXCEPTION 'an invoice is never removed';
    END IF;
    IF OLD.state <> 'DRAFT' AND (NEW.state = 'DRAFT' OR
        ROW (NEW.id, NEW.shop_id, NEW.customer_id, NEW.quote_id, NEW.series, NEW.year, NEW.counter, NEW.number, NEW.buyer_name, NEW.issued_on, NEW.due_on, NEW.net, NEW.tax, NEW.payable, NEW.document, NEW.digest, NEW.issued_at, NEW.created_at)
        IS DISTINCT FROM
        ROW (OLD.id, OLD.shop_id, OLD.customer_id, OLD.quote_id, OLD.series, OLD.year, OLD.counter, OLD.number, OLD.buyer_name, OLD.issued_on, OLD.due_on, OLD.net, OLD.tax, OLD.payable, OLD.document, OLD.digest, OLD.issued_at, OLD.created_at)) THEN
        RAISE EXCEPTION 'an issued invoice never changes';
    END IF;
    RETURN NEW;
END
$$;

CREATE TRIGGER invoice_is_final BEFORE UPDATE OR DELETE ON invoice
    FOR EACH ROW EXECUTE FUNCTION invoice_is_final();
