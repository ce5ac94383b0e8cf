DROP TABLE quote_revision;
DROP TABLE quote;
DROP FUNCTION quote_revision_guard;
