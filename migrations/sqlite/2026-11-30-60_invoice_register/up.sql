-- Invoices get a kind, credited and recovered amounts, and the day since which they are disputed; deposit invoices share the
-- table, and drafts can be discarded. Words of a CHECK can't be changed in place, so the table is made anew: references to
-- it are checked when the transaction ends, and its rows are back by then.
PRAGMA defer_foreign_keys = ON;
CREATE TABLE invoice_before AS SELECT * FROM invoice;
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
    digest TEXT CHECK (length(digest) = 64),
    issued_at INTEGER,
    mailed_at INTEGER,
    version INTEGER NOT NULL CHECK (version > 0),
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
    kind TEXT NOT NULL DEFAULT 'FINAL' CHECK (kind IN ('FINAL', 'DEPOSIT', 'OPENING')),
    credited INTEGER NOT NULL DEFAULT 0 CHECK (credited >= 0),
    recovered INTEGER NOT NULL DEFAULT 0 CHECK (recovered >= 0),
    disputed_on TEXT CHECK (length(disputed_on) = 10),
    -- Whether the lines of a draft are those that are agreed on its quote; else they stay as they were written.
    follows_quote INTEGER NOT NULL DEFAULT 1 CHECK (follows_quote IN (0, 1)),
    document TEXT NOT NULL,
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
    CHECK (state <> 'PART_PAID' OR (paid > 0 AND (open > 0 OR written_off > 0))),
    CHECK (state <> 'PAID' OR (open = 0 AND written_off = 0)),
    CHECK (state = 'DRAFT' OR paid + open + written_off + credited = payable),
    CHECK (recovered <= paid)
) STRICT;

INSERT INTO invoice (id, shop_id, customer_id, quote_id, state, series, year, counter, number, buyer_name, issued_on, due_on, net, tax, payable, open, paid, written_off, document, digest, issued_at, mailed_at, version, created_at, updated_at, credited)
SELECT id, shop_id, customer_id, quote_id, state, series, year, counter, number, buyer_name, issued_on, due_on, net, tax, payable, open, paid, written_off, document, digest, issued_at, mailed_at, version, created_at, updated_at, CASE state WHEN 'CREDITED' THEN payable - paid - open - written_off ELSE 0 END FROM invoice_before;
DROP TABLE invoice_before;

CREATE INDEX invoice_by_state ON invoice (shop_id, state, id);
CREATE INDEX invoice_by_customer ON invoice (shop_id, customer_id, id);
CREATE INDEX invoice_open ON invoice (shop_id, due_on) WHERE state IN ('ISSUED', 'PART_PAID');
CREATE INDEX invoice_by_quote ON invoice (shop_id, quote_id);

CREATE TRIGGER invoice_is_final BEFORE UPDATE ON invoice
WHEN OLD.state <> 'DRAFT' AND (NEW.state = 'DRAFT'
     OR NEW.id IS NOT OLD.id
     OR NEW.shop_id IS NOT OLD.shop_id
     OR NEW.kind IS NOT OLD.kind
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

CREATE TRIGGER invoice_stays BEFORE DELETE ON invoice WHEN OLD.state <> 'DRAFT' BEGIN
    SELECT RAISE(ABORT, 'an issued invoice is never removed');
END;

-- The register: a narrow row for each document that was issued, with its taxes. Amounts are those of the document; those of
-- credit notes and refunds reduce what the others state.
CREATE TABLE issued_document (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    kind TEXT NOT NULL CHECK (kind IN ('INVOICE', 'DEPOSIT_INVOICE', 'CREDIT_NOTE', 'REFUND_RECEIPT')),
    series TEXT NOT NULL CHECK (series <> ''),
    year INTEGER NOT NULL,
    counter INTEGER NOT NULL CHECK (counter > 0),
    number TEXT NOT NULL CHECK (number <> ''),
    issued_on TEXT NOT NULL CHECK (length(issued_on) = 10),
    -- Null until the supply or the payment of a deposit, and for receipts, which state no tax.
    tax_point TEXT CHECK (length(tax_point) = 10),
    customer_id TEXT NOT NULL,
    -- The invoice that a credit note credits; null for the other kinds.
    invoice_id TEXT CHECK ((invoice_id IS NOT NULL) = (kind = 'CREDIT_NOTE')),
    net INTEGER NOT NULL,
    tax INTEGER NOT NULL,
    gross INTEGER NOT NULL,
    payable INTEGER NOT NULL CHECK (payable >= 0),
    digest TEXT NOT NULL CHECK (length(digest) = 64),
    created_at INTEGER NOT NULL,
    UNIQUE (shop_id, id),
    UNIQUE (shop_id, number),
    UNIQUE (shop_id, series, year, counter),
    FOREIGN KEY (shop_id, customer_id) REFERENCES customer (shop_id, id),
    FOREIGN KEY (shop_id, invoice_id) REFERENCES invoice (shop_id, id)
) STRICT;

CREATE INDEX issued_document_by_customer ON issued_document (shop_id, customer_id, id);
CREATE INDEX issued_document_by_invoice ON issued_document (shop_id, invoice_id);
CREATE INDEX issued_document_by_day ON issued_document (shop_id, issued_on, id);
CREATE INDEX issued_document_by_tax_point ON issued_document (shop_id, tax_point, id);

CREATE TABLE issued_tax (
    document_id TEXT NOT NULL,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    place INTEGER NOT NULL CHECK (place >= 0),
    category TEXT NOT NULL CHECK (category <> ''),
    rate TEXT NOT NULL,
    taxable INTEGER NOT NULL,
    tax INTEGER NOT NULL,
    PRIMARY KEY (document_id, place),
    FOREIGN KEY (shop_id, document_id) REFERENCES issued_document (shop_id, id)
) STRICT;

-- What was agreed, and deposits: each is billed or deducted by one invoice at a time.
CREATE TABLE invoice_claim (
    shop_id TEXT NOT NULL REFERENCES shop (id),
    subject_kind TEXT NOT NULL CHECK (subject_kind IN ('REVISION', 'VARIATION', 'DEPOSIT')),
    subject_id TEXT NOT NULL,
    invoice_id TEXT NOT NULL,
    PRIMARY KEY (shop_id, subject_kind, subject_id),
    FOREIGN KEY (shop_id, invoice_id) REFERENCES invoice (shop_id, id)
) STRICT;

CREATE INDEX invoice_claim_by_invoice ON invoice_claim (shop_id, invoice_id);

-- Every short name that numbers of a kind have or had, so that no other kind repeats a number.
CREATE TABLE number_prefix (
    shop_id TEXT NOT NULL REFERENCES shop (id),
    prefix TEXT NOT NULL CHECK (prefix <> ''),
    kind TEXT NOT NULL CHECK (kind IN ('QUOTE', 'INVOICE', 'DEPOSIT_INVOICE', 'CREDIT_NOTE', 'REFUND_RECEIPT')),
    PRIMARY KEY (shop_id, prefix)
) STRICT;

-- The first number of a series in a year, if it is not 1: a shop that changes over goes on where its old numbers ended.
CREATE TABLE number_first (
    shop_id TEXT NOT NULL REFERENCES shop (id),
    prefix TEXT NOT NULL CHECK (prefix <> ''),
    year INTEGER NOT NULL,
    first INTEGER NOT NULL CHECK (first > 0),
    PRIMARY KEY (shop_id, prefix, year)
) STRICT;

-- Invoices that were issued before. An amount in a document has all decimals of its currency, so that its digits are minor
-- units.
INSERT INTO issued_document (id, shop_id, kind, series, year, counter, number, issued_on, tax_point, customer_id, net, tax,
    gross, payable, digest, created_at)
SELECT i.id, i.shop_id, 'INVOICE', i.series, i.year, i.counter, i.number, i.issued_on,
    COALESCE(json_extract(i.document, '$.tax_point'), i.issued_on), i.customer_id, i.net, i.tax,
    CAST(REPLACE(json_extract(i.document, '$.totals.gross.amount'), '.', '') AS INTEGER), i.payable, i.digest, i.issued_at
FROM invoice i
WHERE i.state <> 'DRAFT' AND NOT EXISTS (SELECT 1 FROM issued_document d WHERE d.id = i.id);

INSERT INTO issued_tax (document_id, shop_id, place, category, rate, taxable, tax)
SELECT i.id, i.shop_id, t.key, json_extract(t.value, '$.category'), json_extract(t.value, '$.rate'),
    CAST(REPLACE(json_extract(t.value, '$.taxable.amount'), '.', '') AS INTEGER),
    CAST(REPLACE(json_extract(t.value, '$.tax.amount'), '.', '') AS INTEGER)
FROM invoice i, json_each(i.document, '$.totals.taxes') t
WHERE i.state <> 'DRAFT' AND NOT EXISTS (SELECT 1 FROM issued_tax x WHERE x.document_id = i.id);

INSERT INTO invoice_claim (shop_id, subject_kind, subject_id, invoice_id)
SELECT i.shop_id, 'REVISION', r.id, i.id
FROM invoice i JOIN quote_revision r ON r.shop_id = i.shop_id AND r.quote_id = i.quote_id AND r.state = 'SIGNED'
WHERE i.state <> 'CREDITED';

INSERT INTO invoice_claim (shop_id, subject_kind, subject_id, invoice_id)
SELECT i.shop_id, 'VARIATION', v.id, i.id
FROM invoice i
JOIN quote_revision r ON r.shop_id = i.shop_id AND r.quote_id = i.quote_id AND r.state = 'SIGNED'
JOIN variation v ON v.shop_id = r.shop_id AND v.revision_id = r.id AND v.state = 'SIGNED'
WHERE i.state <> 'CREDITED' AND (i.state <> 'DRAFT' OR v.decided_at <= i.updated_at);

INSERT INTO number_prefix (shop_id, prefix, kind)
SELECT shop_id, invoice_prefix, 'INVOICE' FROM shop_terms;
INSERT INTO number_prefix (shop_id, prefix, kind)
SELECT DISTINCT i.shop_id, i.series, 'INVOICE' FROM invoice i
WHERE i.state <> 'DRAFT'
    AND NOT EXISTS (SELECT 1 FROM number_prefix p WHERE p.shop_id = i.shop_id AND p.prefix = i.series);
INSERT INTO number_prefix (shop_id, prefix, kind)
SELECT t.shop_id, t.quote_prefix, 'QUOTE' FROM shop_terms t
WHERE NOT EXISTS (SELECT 1 FROM number_prefix p WHERE p.shop_id = t.shop_id AND p.prefix = t.quote_prefix);
INSERT INTO number_prefix (shop_id, prefix, kind)
SELECT DISTINCT q.shop_id, q.series, 'QUOTE' FROM quote q
WHERE NOT EXISTS (SELECT 1 FROM number_prefix p WHERE p.shop_id = q.shop_id AND p.prefix = q.series);

CREATE TRIGGER issued_document_is_final BEFORE UPDATE ON issued_document
WHEN NEW.id IS NOT OLD.id
    OR NEW.shop_id IS NOT OLD.shop_id
    OR NEW.kind IS NOT OLD.kind
    OR NEW.series IS NOT OLD.series
    OR NEW.year IS NOT OLD.year
    OR NEW.counter IS NOT OLD.counter
    OR NEW.number IS NOT OLD.number
    OR NEW.issued_on IS NOT OLD.issued_on
    OR NEW.tax_point IS NOT OLD.tax_point
    OR NEW.invoice_id IS NOT OLD.invoice_id
    OR NEW.net IS NOT OLD.net
    OR NEW.tax IS NOT OLD.tax
    OR NEW.gross IS NOT OLD.gross
    OR NEW.payable IS NOT OLD.payable
    OR NEW.digest IS NOT OLD.digest
    OR NEW.created_at IS NOT OLD.created_at
    OR NEW.customer_id IS NOT OLD.customer_id AND NOT EXISTS (SELECT 1 FROM customer c WHERE c.shop_id = OLD.shop_id
        AND (c.id = OLD.customer_id AND c.merged_into = NEW.customer_id
            OR c.id = NEW.customer_id AND c.merged_into = OLD.customer_id)) BEGIN
    SELECT RAISE(ABORT, 'an issued document never changes');
END;

CREATE TRIGGER issued_document_stays BEFORE DELETE ON issued_document BEGIN
    SELECT RAISE(ABORT, 'an issued document is never removed');
END;

CREATE TRIGGER issued_tax_stays BEFORE DELETE ON issued_tax BEGIN
    SELECT RAISE(ABORT, 'an issued document is never removed');
END;

CREATE TRIGGER issued_tax_is_final BEFORE UPDATE ON issued_tax BEGIN
    SELECT RAISE(ABORT, 'an issued document never changes');
END;
