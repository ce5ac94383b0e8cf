ALTER TABLE shop_terms DROP COLUMN promise_step_minutes;
