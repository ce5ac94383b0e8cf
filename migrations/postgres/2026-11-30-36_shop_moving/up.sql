-- In how many bays one car may be one after another, and the minutes of a move (both common practice). A car is moved only if
-- no bay has everything that its work needs, so shops with such a bay book as before.
ALTER TABLE shop_terms ADD COLUMN max_stays INTEGER NOT NULL DEFAULT 3 CHECK (max_stays BETWEEN 1 AND 10);
ALTER TABLE shop_terms ADD COLUMN move_minutes INTEGER NOT NULL DEFAULT 10 CHECK (move_minutes BETWEEN 0 AND 240);
