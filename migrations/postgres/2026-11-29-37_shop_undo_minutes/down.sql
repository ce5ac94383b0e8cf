ALTER TABLE shop_terms DROP COLUMN undo_minutes;
