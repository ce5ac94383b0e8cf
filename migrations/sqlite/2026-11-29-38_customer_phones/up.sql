-- The parsed form of each telephone number in `phones`, in the same order; what was typed stays there.
ALTER TABLE customer ADD COLUMN phone_keys TEXT NOT NULL DEFAULT '[]';

-- The rules by which a record's words were made: what was indexed by others is indexed anew, telephone numbers parsed.
ALTER TABLE search_subject ADD COLUMN rules TEXT NOT NULL DEFAULT '';

CREATE INDEX search_subject_by_rules ON search_subject (shop_id, kind, rules);
