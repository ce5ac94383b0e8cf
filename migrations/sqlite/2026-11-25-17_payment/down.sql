DROP TABLE payment_part;
DROP TABLE payment;
