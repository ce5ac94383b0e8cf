DROP TABLE variation;
DROP FUNCTION variation_guard;
