DROP TABLE known_address;
