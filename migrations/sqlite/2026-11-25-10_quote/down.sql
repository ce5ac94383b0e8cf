DROP TABLE quote_revision;
DROP TABLE quote;
