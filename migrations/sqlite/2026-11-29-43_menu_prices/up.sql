-- Whether the prices of an edition are with tax or without. Editions that are there were written in the shop's basis of
-- today; saying so changes none of them, so their guard steps aside for it.
ALTER TABLE menu_revision ADD COLUMN prices TEXT NOT NULL DEFAULT 'GROSS' CHECK (prices IN ('NET', 'GROSS'));

DROP TRIGGER menu_revision_is_final;

UPDATE menu_revision SET prices = 'NET'
    WHERE shop_id IN (SELECT shop_id FROM shop_rates WHERE private_prices = 'NET');

CREATE TRIGGER menu_revision_is_final BEFORE UPDATE ON menu_revision BEGIN
    SELECT RAISE(ABORT, 'a published menu never changes');
END;
