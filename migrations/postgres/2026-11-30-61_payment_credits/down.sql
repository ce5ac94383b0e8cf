DROP TABLE write_off;
DROP TABLE refund;
DROP TABLE payment_release;
DROP TABLE credit_line;
DROP TABLE credit_note;
DROP TABLE shop_money;
DROP FUNCTION money_is_final();
DROP FUNCTION refund_is_final();
DROP FUNCTION credit_note_is_final();
DELETE FROM number_prefix WHERE kind IN ('DEPOSIT_INVOICE', 'CREDIT_NOTE', 'REFUND_RECEIPT');
CREATE OR REPLACE FUNCTION payment_is_merged() RETURNS trigger LANGUAGE plpgsql AS $$
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
ALTER TABLE payment DROP COLUMN undo_note, DROP COLUMN undo_reason, DROP COLUMN undone_on;
ALTER TABLE payment_part DROP COLUMN recovered;
