DROP TABLE invoice;
DROP FUNCTION invoice_is_final();
