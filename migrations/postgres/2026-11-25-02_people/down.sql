DROP TABLE signing_key;
DROP TABLE session;
DROP TABLE person;
