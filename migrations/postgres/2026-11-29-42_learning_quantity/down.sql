ALTER TABLE lesson DROP COLUMN quantity_thousandths;
