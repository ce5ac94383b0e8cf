DROP TABLE number_first;
DROP TABLE number_prefix;
DROP TABLE invoice_claim;
DROP TABLE issued_tax;
DROP TABLE issued_document;
DROP FUNCTION issued_is_final();
CREATE OR REPLACE FUNCTION invoice_is_final() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF TG_OP = 'DELETE' THEN
        RAISE EXCEPTION 'an invoice is never removed';
    END IF;
    IF OLD.state <> 'DRAFT' AND (NEW.state = 'DRAFT' OR
        ROW (NEW.id, NEW.shop_id, NEW.quote_id, NEW.series, NEW.year, NEW.counter, NEW.number, NEW.buyer_name, NEW.issued_on, NEW.due_on, NEW.net, NEW.tax, NEW.payable, NEW.document, NEW.digest, NEW.issued_at, NEW.created_at)
        IS DISTINCT FROM
        ROW (OLD.id, OLD.shop_id, OLD.quote_id, OLD.series, OLD.year, OLD.counter, OLD.number, OLD.buyer_name, OLD.issued_on, OLD.due_on, OLD.net, OLD.tax, OLD.payable, OLD.document, OLD.digest, OLD.issued_at, OLD.created_at)
        OR NEW.customer_id <> OLD.customer_id AND NOT EXISTS (SELECT 1 FROM customer c WHERE c.shop_id = OLD.shop_id
            AND (c.id = OLD.customer_id AND c.merged_into = NEW.customer_id
                OR c.id = NEW.customer_id AND c.merged_into = OLD.customer_id))) THEN
        RAISE EXCEPTION 'an issued invoice never changes';
    END IF;
    RETURN NEW;
END
$$;

DROP INDEX invoice_by_quote;
CREATE UNIQUE INDEX invoice_of_quote ON invoice (shop_id, quote_id) WHERE state <> 'CREDITED';
ALTER TABLE invoice
    DROP CONSTRAINT invoice_part_paid,
    DROP CONSTRAINT invoice_paid,
    DROP CONSTRAINT invoice_adds_up,
    DROP CONSTRAINT invoice_recovered,
    DROP COLUMN kind,
    DROP COLUMN credited,
    DROP COLUMN recovered,
    DROP COLUMN disputed_on,
    DROP COLUMN follows_quote;
ALTER TABLE invoice
    ADD CHECK (state <> 'PART_PAID' OR (paid > 0 AND open > 0)),
    ADD CHECK (state <> 'PAID' OR open = 0),
    ADD CHECK (state = 'CREDITED' OR state = 'DRAFT' OR paid + open + written_off <= payable);
