-- The record that goes on in place of this one, where two were of one customer or of one vehicle. What the two had is
-- in the log: who moved and what, so that it can be taken back.
ALTER TABLE customer ADD COLUMN merged_into TEXT CHECK (merged_into <> id);
ALTER TABLE vehicle ADD COLUMN merged_into TEXT CHECK (merged_into <> id);

CREATE INDEX customer_merged ON customer (shop_id, merged_into) WHERE merged_into IS NOT NULL;
CREATE INDEX vehicle_merged ON vehicle (shop_id, merged_into) WHERE merged_into IS NOT NULL;
CREATE INDEX vehicle_by_vin ON vehicle (shop_id, vin);

-- In place of references by (shop_id, merged_into), so that both engines hold the same.
CREATE FUNCTION customer_merges() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NEW.merged_into IS NOT NULL AND NEW.merged_into IS DISTINCT FROM OLD.merged_into AND NOT EXISTS (
        SELECT 1 FROM customer c WHERE c.shop_id = NEW.shop_id AND c.id = NEW.merged_into AND c.merged_into IS NULL) THEN
        RAISE EXCEPTION 'a customer is merged into one that goes on';
    END IF;
    RETURN NEW;
END
$$;

CREATE TRIGGER customer_merges BEFORE UPDATE ON customer FOR EACH ROW EXECUTE FUNCTION customer_merges();

CREATE FUNCTION vehicle_merges() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NEW.merged_into IS NOT NULL AND NEW.merged_into IS DISTINCT FROM OLD.merged_into AND NOT EXISTS (
        SELECT 1 FROM vehicle v WHERE v.shop_id = NEW.shop_id AND v.id = NEW.merged_into AND v.merged_into IS NULL) THEN
        RAISE EXCEPTION 'a vehicle is merged into one that goes on';
    END IF;
    RETURN NEW;
END
$$;

CREATE TRIGGER vehicle_merges BEFORE UPDATE ON vehicle FOR EACH ROW EXECUTE FUNCTION vehicle_merges();

-- An issued invoice and a payment stay as they are; whose they are changes only along a merge, and back.
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

CREATE FUNCTION payment_is_merged() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NEW.customer_id = OLD.customer_id OR
        ROW (NEW.id, NEW.shop_id, NEW.method, NEW.received_on, NEW.amount, NEW.surplus, NEW.reference, NEW.note, NEW.created_at)
        IS DISTINCT FROM
        ROW (OLD.id, OLD.shop_id, OLD.method, OLD.received_on, OLD.amount, OLD.surplus, OLD.reference, OLD.note, OLD.created_at)
        OR NOT EXISTS (SELECT 1 FROM customer c WHERE c.shop_id = OLD.shop_id
            AND (c.id = OLD.customer_id AND c.merged_into = NEW.customer_id
                OR c.id = NEW.customer_id AND c.merged_into = OLD.customer_id)) THEN
        RAISE EXCEPTION 'a payment never changes and is never removed';
    END IF;
    RETURN NEW;
END
$$;

DROP TRIGGER payment_is_final ON payment;
CREATE TRIGGER payment_stays BEFORE DELETE ON payment FOR EACH ROW EXECUTE FUNCTION payment_is_final();
CREATE TRIGGER payment_is_final BEFORE UPDATE ON payment FOR EACH ROW EXECUTE FUNCTION payment_is_merged();
