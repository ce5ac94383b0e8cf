-- Invoices get a kind, credited and recovered amounts, and the day since which they are disputed; deposit invoices share the
-- table, and drafts can be discarded.
ALTER TABLE invoice
    ADD COLUMN kind TEXT NOT NULL DEFAULT 'FINAL' CHECK (kind IN ('FINAL', 'DEPOSIT', 'OPENING')),
    ADD COLUMN credited BIGINT NOT NULL DEFAULT 0 CHECK (credited >= 0),
    ADD COLUMN recovered BIGINT NOT NULL DEFAULT 0 CHECK (recovered >= 0),
    ADD COLUMN disputed_on TEXT CHECK (length(disputed_on) = 10),
    -- Whether the lines of a draft are those that are agreed on its quote; else they stay as they were written.
    ADD COLUMN follows_quote BOOLEAN NOT NULL DEFAULT TRUE;

-- The names of the rules were chosen by the engine, so they are found by what they say.
DO $$
DECLARE
    rule TEXT;
BEGIN
    FOR rule IN SELECT conname FROM pg_constraint WHERE conrelid = 'invoice'::regclass AND contype = 'c'
        AND (pg_get_constraintdef(oid) LIKE '%<> ''PART_PAID''%'
            OR pg_get_constraintdef(oid) LIKE '%<> ''PAID''%'
            OR pg_get_constraintdef(oid) LIKE '%<= payable%') LOOP
        EXECUTE format('ALTER TABLE invoice DROP CONSTRAINT %I', rule);
    END LOOP;
END
$$;

UPDATE invoice SET credited = payable - paid - open - written_off WHERE state = 'CREDITED';

ALTER TABLE invoice
    ADD CONSTRAINT invoice_part_paid CHECK (state <> 'PART_PAID' OR (paid > 0 AND (open > 0 OR written_off > 0))),
    ADD CONSTRAINT invoice_paid CHECK (state <> 'PAID' OR (open = 0 AND written_off = 0)),
    ADD CONSTRAINT invoice_adds_up CHECK (state = 'DRAFT' OR paid + open + written_off + credited = payable),
    ADD CONSTRAINT invoice_recovered CHECK (recovered <= paid);

DROP INDEX invoice_of_quote;
CREATE INDEX invoice_by_quote ON invoice (shop_id, quote_id);

CREATE OR REPLACE FUNCTION invoice_is_final() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' THEN
        IF OLD.state <> 'DRAFT' THEN
            RAISE EXCEPTION 'an issued invoice is never removed';
        END IF;
        RETURN OLD;
    END IF;
    IF OLD.state <> 'DRAFT' AND (NEW.state = 'DRAFT' OR
        ROW (NEW.id, NEW.shop_id, NEW.kind, NEW.quote_id, NEW.series, NEW.year, NEW.counter, NEW.number, NEW.buyer_name, NEW.issued_on, NEW.due_on, NEW.net, NEW.tax, NEW.payable, NEW.document, NEW.digest, NEW.issued_at, NEW.created_at)
        IS DISTINCT FROM
        ROW (OLD.id, OLD.shop_id, OLD.kind, OLD.quote_id, OLD.series, OLD.year, OLD.counter, OLD.number, OLD.buyer_name, OLD.issued_on, OLD.due_on, OLD.net, OLD.tax, OLD.payable, OLD.document, OLD.digest, OLD.issued_at, OLD.created_at)
        OR NEW.customer_id <> OLD.customer_id AND NOT EXISTS (SELECT 1 FROM customer c WHERE c.shop_id = OLD.shop_id
            AND (c.id = OLD.customer_id AND c.merged_into = NEW.customer_id
                OR c.id = NEW.customer_id AND c.merged_into = OLD.customer_id))) THEN
        RAISE EXCEPTION 'an issued invoice never changes';
    END IF;
    RETURN NEW;
END
$$;

-- The register: a narrow row for each document that was issued, with its taxes. Amounts are those of the document; those of
-- credit notes and refunds reduce what the others state.
CREATE TABLE issued_document (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    kind TEXT NOT NULL CHECK (kind IN ('INVOICE', 'DEPOSIT_INVOICE', 'CREDIT_NOTE', 'REFUND_RECEIPT')),
    series TEXT NOT NULL CHECK (series <> ''),
    year INTEGER NOT NULL,
    counter BIGINT NOT NULL CHECK (counter > 0),
    number TEXT NOT NULL CHECK (number <> ''),
    issued_on TEXT NOT NULL CHECK (length(issued_on) = 10),
    -- Null until the supply or the payment of a deposit, and for receipts, which state no tax.
    tax_point TEXT CHECK (length(tax_point) = 10),
    customer_id TEXT NOT NULL,
    -- The invoice that a credit note credits; null for the other kinds.
    invoice_id TEXT CHECK ((invoice_id IS NOT NULL) = (kind = 'CREDIT_NOTE')),
    net BIGINT NOT NULL,
    tax BIGINT NOT NULL,
    gross BIGINT NOT NULL,
    payable BIGINT NOT NULL CHECK (payable >= 0),
    digest TEXT NOT NULL CHECK (length(digest) = 64),
    created_at BIGINT NOT NULL,
    UNIQUE (shop_id, id),
    UNIQUE (shop_id, number),
    UNIQUE (shop_id, series, year, counter),
    FOREIGN KEY (shop_id, customer_id) REFERENCES customer (shop_id, id),
    FOREIGN KEY (shop_id, invoice_id) REFERENCES invoice (shop_id, id)
);

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
    taxable BIGINT NOT NULL,
    tax BIGINT NOT NULL,
    PRIMARY KEY (document_id, place),
    FOREIGN KEY (shop_id, document_id) REFERENCES issued_document (shop_id, id)
);

-- What was agreed, and deposits: each is billed or deducted by one invoice at a time.
CREATE TABLE invoice_claim (
    shop_id TEXT NOT NULL REFERENCES shop (id),
    subject_kind TEXT NOT NULL CHECK (subject_kind IN ('REVISION', 'VARIATION', 'DEPOSIT')),
    subject_id TEXT NOT NULL,
    invoice_id TEXT NOT NULL,
    PRIMARY KEY (shop_id, subject_kind, subject_id),
    FOREIGN KEY (shop_id, invoice_id) REFERENCES invoice (shop_id, id)
);

CREATE INDEX invoice_claim_by_invoice ON invoice_claim (shop_id, invoice_id);

-- Every short name that numbers of a kind have or had, so that no other kind repeats a number.
CREATE TABLE number_prefix (
    shop_id TEXT NOT NULL REFERENCES shop (id),
    prefix TEXT NOT NULL CHECK (prefix <> ''),
    kind TEXT NOT NULL CHECK (kind IN ('QUOTE', 'INVOICE', 'DEPOSIT_INVOICE', 'CREDIT_NOTE', 'REFUND_RECEIPT')),
    PRIMARY KEY (shop_id, prefix)
);

-- The first number of a series in a year, if it is not 1: a shop that changes over goes on where its old numbers ended.
CREATE TABLE number_first (
    shop_id TEXT NOT NULL REFERENCES shop (id),
    prefix TEXT NOT NULL CHECK (prefix <> ''),
    year INTEGER NOT NULL,
    first BIGINT NOT NULL CHECK (first > 0),
    PRIMARY KEY (shop_id, prefix, year)
);

-- Invoices that were issued before. An amount in a document has all decimals of its currency, so that its digits are minor
-- units.
INSERT INTO issued_document (id, shop_id, kind, series, year, counter, number, issued_on, tax_point, customer_id, net, tax,
    gross, payable, digest, created_at)
SELECT i.id, i.shop_id, 'INVOICE', i.series, i.year, i.counter, i.number, i.issued_on,
    COALESCE(i.document::json ->> 'tax_point', i.issued_on), i.customer_id, i.net, i.tax,
    CAST(REPLACE(i.document::json #>> '{totals,gross,amount}', '.', '') AS BIGINT), i.payable, i.digest, i.issued_at
FROM invoice i
WHERE i.state <> 'DRAFT' AND NOT EXISTS (SELECT 1 FROM issued_document d WHERE d.id = i.id);

INSERT INTO issued_tax (document_id, shop_id, place, category, rate, taxable, tax)
SELECT i.id, i.shop_id, t.place - 1, t.value ->> 'category', t.value ->> 'rate',
    CAST(REPLACE(t.value #>> '{taxable,amount}', '.', '') AS BIGINT),
    CAST(REPLACE(t.value #>> '{tax,amount}', '.', '') AS BIGINT)
FROM invoice i
CROSS JOIN LATERAL json_array_elements(i.document::json #> '{totals,taxes}') WITH ORDINALITY t (value, place)
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

CREATE FUNCTION issued_is_final() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' THEN
        RAISE EXCEPTION 'an issued document is never removed';
    END IF;
    IF TG_TABLE_NAME = 'issued_tax' THEN
        RAISE EXCEPTION 'an issued document never changes';
    END IF;
    IF ROW (NEW.id, NEW.shop_id, NEW.kind, NEW.series, NEW.year, NEW.counter, NEW.number, NEW.issued_on, NEW.tax_point, NEW.invoice_id, NEW.net, NEW.tax, NEW.gross, NEW.payable, NEW.digest, NEW.created_at)
        IS DISTINCT FROM
        ROW (OLD.id, OLD.shop_id, OLD.kind, OLD.series, OLD.year, OLD.counter, OLD.number, OLD.issued_on, OLD.tax_point, OLD.invoice_id, OLD.net, OLD.tax, OLD.gross, OLD.payable, OLD.digest, OLD.created_at)
        OR NEW.customer_id <> OLD.customer_id AND NOT EXISTS (SELECT 1 FROM customer c WHERE c.shop_id = OLD.shop_id
            AND (c.id = OLD.customer_id AND c.merged_into = NEW.customer_id
                OR c.id = NEW.customer_id AND c.merged_into = OLD.customer_id)) THEN
        RAISE EXCEPTION 'an issued document never changes';
    END IF;
    RETURN NEW;
END
$$;

CREATE TRIGGER issued_document_is_final BEFORE UPDATE OR DELETE ON issued_document
    FOR EACH ROW EXECUTE FUNCTION issued_is_final();
CREATE TRIGGER issued_tax_is_final BEFORE UPDATE OR DELETE ON issued_tax
    FOR EACH ROW EXECUTE FUNCTION issued_is_final();
