DROP TABLE write_off;
DROP TABLE refund;
DROP TABLE payment_release;
DROP TABLE credit_line;
DROP TABLE credit_note;
DROP TABLE shop_money;
DELETE FROM number_prefix WHERE kind IN ('DEPOSIT_INVOICE', 'CREDIT_NOTE', 'REFUND_RECEIPT');
DROP TRIGGER payment_is_final;
ALTER TABLE payment DROP COLUMN undo_note;
ALTER TABLE payment DROP COLUMN undo_reason;
ALTER TABLE payment DROP COLUMN undone_on;
ALTER TABLE payment_part DROP COLUMN recovered;
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
