-- For how many minutes people undo what they did without a reason (common practice).
ALTER TABLE shop_terms ADD COLUMN undo_minutes INTEGER NOT NULL DEFAULT 10 CHECK (undo_minutes BETWEEN 0 AND 1440);
