DROP TABLE payment_part;
DROP TABLE payment;
DROP FUNCTION payment_is_final();
