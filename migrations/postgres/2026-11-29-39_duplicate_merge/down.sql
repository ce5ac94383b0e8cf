DROP TRIGGER payment_is_final ON payment;
DROP TRIGGER payment_stays ON payment;
CREATE TRIGGER payment_is_final BEFORE UPDATE OR DELETE ON payment
    FOR EACH ROW EXECUTE FUNCTION payment_is_final();
DROP FUNCTION payment_is_merged();

CREATE OR REPLACE FUNCTION invoice_is_final() RETURNS trigger LANGUAGE plpgsql AS $$
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

DROP TRIGGER vehicle_merges ON vehicle;
DROP FUNCTION vehicle_merges();
DROP TRIGGER customer_merges ON customer;
DROP FUNCTION customer_merges();
DROP INDEX vehicle_by_vin;
DROP INDEX vehicle_merged;
DROP INDEX customer_merged;
ALTER TABLE vehicle DROP COLUMN merged_into;
ALTER TABLE customer DROP COLUMN merged_into;
