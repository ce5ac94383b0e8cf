DROP TABLE early_start;
DROP FUNCTION early_start_stays;
