-- The record that goes on in place of this one, where two were of one customer or of one vehicle. What the two had is
-- in the log: who moved and what, so that it can be taken back.
ALTER TABLE customer ADD COLUMN merged_into TEXT CHECK (merged_into <> id);
ALTER TABLE vehicle ADD COLUMN merged_into TEXT CHECK (merged_into <> id);

CREATE INDEX customer_merged ON customer (shop_id, merged_into) WHERE merged_into IS NOT NULL;
CREATE INDEX vehicle_merged ON vehicle (shop_id, merged_into) WHERE merged_into IS NOT NULL;
CREATE INDEX vehicle_by_vin ON vehicle (shop_id, vin);

-- In place of references by (shop_id, merged_into), which SQLite can't add to a table that others refer to.
CREATE TRIGGER customer_merges BEFORE UPDATE ON customer
WHEN NEW.merged_into IS NOT NULL AND NEW.merged_into IS NOT OLD.merged_into AND NOT EXISTS (
    SELECT 1 FROM customer c WHERE c.shop_id = NEW.shop_id AND c.id = NEW.merged_into AND c.merged_into IS NULL)
BEGIN
    SELECT RAISE(ABORT, 'a customer is merged into one that goes on');
END;

CREATE TRIGGER vehicle_merges BEFORE UPDATE ON vehicle
WHEN NEW.merged_into IS NOT NULL AND NEW.merged_into IS NOT OLD.merged_into AND NOT EXISTS (
    SELECT 1 FROM vehicle v WHERE v.shop_id = NEW.shop_id AND v.id = NEW.merged_into AND v.merged_into IS NULL)
BEGIN
    SELECT RAISE(ABORT, 'a vehicle is merged into one that goes on');
END;

-- An issued invoice and a payment stay as they are; whose they are changes only along a merge, and back.
DROP TRIGGER invoice_is_final;
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

DROP TRIGGER payment_is_final;
CREATE TRIGGER payment_is_final BEFORE UPDATE ON payment
WHEN NEW.customer_id IS OLD.customer_id
    OR NEW.id IS NOT OLD.id OR NEW.shop_id IS NOT OLD.shop_id OR NEW.method IS NOT OLD.method
    OR NEW.received_on IS NOT OLD.received_on OR NEW.amount IS NOT OLD.amount OR NEW.surplus IS NOT OLD.surplus
    OR NEW.reference IS NOT OLD.reference OR NEW.note IS NOT OLD.note OR NEW.created_at IS NOT OLD.created_at
    OR NOT EXISTS (SELECT 1 FROM customer c WHERE c.shop_id = OLD.shop_id
        AND (c.id = OLD.customer_id AND c.merged_into = NEW.customer_id
            OR c.id = NEW.customer_id AND c.merged_into = OLD.customer_id))
BEGIN
    SELECT RAISE(ABORT, 'a payment never changes');
END;
