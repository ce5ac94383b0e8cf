DROP TABLE search_word;
DROP TABLE search_subject;
