DROP INDEX search_subject_by_rules;
ALTER TABLE search_subject DROP COLUMN rules;
ALTER TABLE customer DROP COLUMN phone_keys;
