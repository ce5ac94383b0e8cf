DROP TABLE customer_consent;
DROP TABLE customer;
