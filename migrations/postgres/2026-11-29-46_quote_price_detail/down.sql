ALTER TABLE variation DROP COLUMN explanation;
ALTER TABLE quote_revision DROP COLUMN explanation;
ALTER TABLE shop_terms DROP COLUMN price_detail;
