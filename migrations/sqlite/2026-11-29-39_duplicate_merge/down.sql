DROP TRIGGER payment_is_final;
CREATE TRIGGER payment_is_final BEFORE UPDATE ON payment BEGIN
    SELECT RAISE(ABORT, 'a payment never changes');
END;

DROP TRIGGER invoice_is_final;
CREATE TRIGGER invoice_is_final BEFORE UPDATE ON invoice
WHEN OLD.state <> 'DRAFT' AND (NEW.state = 'DRAFT'
     OR NEW.customer_id IS NOT OLD.customer_id
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
     OR NEW.created_at IS NOT OLD.created_at) BEGIN
    SELECT RAISE(ABORT, 'an issued invoice never changes');
END;

DROP TRIGGER vehicle_merges;
DROP TRIGGER customer_merges;
DROP INDEX vehicle_by_vin;
DROP INDEX vehicle_merged;
DROP INDEX customer_merged;
ALTER TABLE vehicle DROP COLUMN merged_into;
ALTER TABLE customer DROP COLUMN merged_into;
