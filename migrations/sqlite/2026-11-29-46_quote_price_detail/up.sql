ALTER TABLE shop_terms ADD COLUMN price_detail TEXT NOT NULL DEFAULT 'SUMMARY'
    CHECK (price_detail IN ('SUMMARY', 'FULL'));
-- How each line's price was made, in full, for the studio; the document has what the customer was shown of it.
ALTER TABLE quote_revision ADD COLUMN explanation TEXT;
ALTER TABLE variation ADD COLUMN explanation TEXT;
