DROP TABLE number_first;
DROP TABLE number_prefix;
DROP TABLE invoice_claim;
DROP TABLE issued_tax;
DROP TABLE issued_document;
PRAGMA defer_foreign_keys = ON;
CREATE TABLE invoice_after AS SELECT id, shop_id, customer_id, quote_id, state, series, year, counter, number, buyer_name, issued_on, due_on, net, tax, payable, open, paid, written_off, document, digest, issued_at, mailed_at, version, created_at, updated_at FROM invoice;
DROP TABLE invoice;
CREATE TABLE invoice (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    customer_id TEXT NOT NULL,
    quote_id TEXT,
    state TEXT NOT NULL CHECK (state IN ('DRAFT', 'ISSUED', 'PART_PAID', 'PAID', 'CREDITED', 'WRITTEN_OFF')),
    series TEXT NOT NULL,
    year INTEGER NOT NULL,
    counter INTEGER CHECK (counter > 0),
    number TEXT,
    buyer_name TEXT NOT NULL,
    issued_on TEXT CHECK (length(issued_on) = 10),
    due_on TEXT CHECK (length(due_on) = 10 AND due_on >= issued_on),
    net INTEGER NOT NULL,
    tax INTEGER NOT NULL,
    payable INTEGER NOT NULL,
    open INTEGER NOT NULL CHECK (open >= 0),
    paid INTEGER NOT NULL CHECK (paid >= 0),
    written_off INTEGER NOT NULL CHECK (written_off >= 0),
    document TEXT NOT NULL,
    digest TEXT CHECK (length(digest) = 64),
    issued_at INTEGER,
    mailed_at INTEGER,
    version INTEGER NOT NULL CHECK (version > 0),
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
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
) STRICT;

INSERT INTO invoice (id, shop_id, customer_id, quote_id, state, series, year, counter, number, buyer_name, issued_on, due_on, net, tax, payable, open, paid, written_off, document, digest, issued_at, mailed_at, version, created_at, updated_at) SELECT id, shop_id, customer_id, quote_id, state, series, year, counter, number, buyer_name, issued_on, due_on, net, tax, payable, open, paid, written_off, document, digest, issued_at, mailed_at, version, created_at, updated_at FROM invoice_after;
DROP TABLE invoice_after;

CREATE UNIQUE INDEX invoice_of_quote ON invoice (shop_id, quote_id) WHERE state <> 'CREDITED';
CREATE INDEX invoice_by_state ON invoice (shop_id, state, id);
CREATE INDEX invoice_by_customer ON invoice (shop_id, customer_id, id);
CREATE INDEX invoice_open ON invoice (shop_id, due_on) WHERE state IN ('ISSUED', 'PART_PAID');

CREATE TRIGGER invoice_is_final BEFORE UPDATE ON invoice
WHEN OLD.state <> 'DRAFT' AND (NEW.state = 'DRAFT'
     OR NEW.id IS NOT OLD.id
     OR NEW.shop_id IS NOT OLD.shop_id
     OR NEW.quote_id IS NOT OLD.quote_id
     OR NEW.series IS NOT OLD.series
     OR NEW.year IS NOT OLD.year
     OR NEW.counter IS NOT OLD.counter
     OR NEW.number IS NOT OLD.number
     OR NEW.buyer_name IS NOT OLD.buyer_name
     OR NEW.issued_on IS NOT OLD.issued_on
     OR NEW.due_on IS NOT OLD.due_on
     OR NEW.net IS NOT OLD.net
     OR NEW.tax IS NOT OLD.tax
     OR NEW.payable IS NOT OLD.payable
     OR NEW.document IS NOT OLD.document
     OR NEW.digest IS NOT OLD.digest
     OR NEW.issued_at IS NOT OLD.issued_at
     OR NEW.created_at IS NOT OLD.created_at
     OR NEW.customer_id IS NOT OLD.customer_id AND NOT EXISTS (SELECT 1 FROM customer c WHERE c.shop_id = OLD.shop_id
        AND (c.id = OLD.customer_id AND c.merged_into = NEW.customer_id
            OR c.id = NEW.customer_id AND c.merged_into = OLD.customer_id))) BEGIN
    SELECT RAISE(ABORT, 'an issued invoice never changes');
END;

CREATE TRIGGER invoice_stays BEFORE DELETE ON invoice BEGIN
    SELECT RAISE(ABORT, 'an invoice is never removed');
END;
