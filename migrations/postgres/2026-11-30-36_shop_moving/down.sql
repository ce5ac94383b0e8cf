ALTER TABLE shop_terms DROP COLUMN move_minutes;
ALTER TABLE shop_terms DROP COLUMN max_stays;
