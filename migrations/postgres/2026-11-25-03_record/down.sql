DROP TABLE idempotency;
DROP TABLE record;
DROP FUNCTION record_stays;
