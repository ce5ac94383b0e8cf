-- How many times a finished step was done, in thousandths: its plan multiplies what one service alone needs.
ALTER TABLE lesson ADD COLUMN quantity_thousandths INTEGER NOT NULL DEFAULT 1000 CHECK (quantity_thousandths > 0);
