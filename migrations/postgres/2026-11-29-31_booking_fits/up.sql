-- Whether a booking's place still fits what is agreed: other work may be signed after it was booked.
ALTER TABLE booking ADD COLUMN fits BOOLEAN NOT NULL DEFAULT TRUE;
