ALTER TABLE job_note DROP COLUMN for_customer;
DROP TABLE stay_question;

DELETE FROM link WHERE purpose = 'STAY';
ALTER TABLE link DROP CONSTRAINT link_purpose_check;
ALTER TABLE link ADD CONSTRAINT link_purpose_check CHECK (purpose IN ('QUOTE', 'VARIATION'));

DROP TABLE shop_self_booking;
