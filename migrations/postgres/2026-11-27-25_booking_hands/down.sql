ALTER TABLE attendance DROP COLUMN helps;
ALTER TABLE booking DROP COLUMN hands;
