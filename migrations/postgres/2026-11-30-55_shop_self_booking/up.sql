-- Whether customers may choose a free time on their own page, and how many hours before (common practice: a day). Off at
-- first, so shops agree times as before until they switch it on.
CREATE TABLE shop_self_booking (
    shop_id TEXT NOT NULL PRIMARY KEY REFERENCES shop (id),
    allowed BOOLEAN NOT NULL,
    notice_hours INTEGER NOT NULL CHECK (notice_hours BETWEEN 0 AND 720),
    version BIGINT NOT NULL,
    updated_at BIGINT NOT NULL
);

INSERT INTO shop_self_booking (shop_id, allowed, notice_hours, version, updated_at)
SELECT id, FALSE, 24, 1, updated_at FROM shop;

-- Links may open the page of a whole stay as well.
ALTER TABLE link DROP CONSTRAINT link_purpose_check;
ALTER TABLE link ADD CONSTRAINT link_purpose_check CHECK (purpose IN ('QUOTE', 'VARIATION', 'STAY'));

-- Questions that customers ask on the page of their stay.
CREATE TABLE stay_question (
    id TEXT NOT NULL PRIMARY KEY,
    shop_id TEXT NOT NULL REFERENCES shop (id),
    quote_id TEXT NOT NULL,
    link_id TEXT NOT NULL,
    text TEXT NOT NULL,
    asked_at BIGINT NOT NULL,
    UNIQUE (shop_id, id),
    FOREIGN KEY (shop_id, quote_id) REFERENCES quote (shop_id, id),
    FOREIGN KEY (shop_id, link_id) REFERENCES link (shop_id, id)
);

CREATE INDEX stay_question_of_quote ON stay_question (shop_id, quote_id, id);

-- Whether the customer sees a note and its photographs on the page of their stay. Notes so far were for the studio alone.
ALTER TABLE job_note ADD COLUMN for_customer BOOLEAN NOT NULL DEFAULT FALSE;
