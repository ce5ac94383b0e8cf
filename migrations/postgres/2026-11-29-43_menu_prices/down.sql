ALTER TABLE menu_revision DROP COLUMN prices;
