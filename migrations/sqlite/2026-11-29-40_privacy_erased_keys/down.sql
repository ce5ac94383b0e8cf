DROP TABLE erased_key_secret;
DROP TABLE erased_key;
