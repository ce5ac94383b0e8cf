ALTER TABLE variation DROP COLUMN beliefs;
ALTER TABLE quote_revision DROP COLUMN beliefs;
