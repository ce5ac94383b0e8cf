-- What was believed of steps when a quote or a variation was sent, so that its times stay as they were shown. What was sent
-- before has none, and shows budgets.
ALTER TABLE quote_revision ADD COLUMN beliefs TEXT;
ALTER TABLE variation ADD COLUMN beliefs TEXT;
