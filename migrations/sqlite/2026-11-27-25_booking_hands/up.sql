-- How many pairs of hands a place was made for, and who of two at a step helps the one with the skills.
ALTER TABLE booking ADD COLUMN hands TEXT NOT NULL DEFAULT 'ONE' CHECK (hands IN ('ONE', 'TWO'));
ALTER TABLE attendance ADD COLUMN helps INTEGER NOT NULL DEFAULT 0 CHECK (helps IN (0, 1));
