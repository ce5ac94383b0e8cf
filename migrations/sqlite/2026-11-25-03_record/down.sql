DROP TABLE idempotency;
DROP TABLE record;
