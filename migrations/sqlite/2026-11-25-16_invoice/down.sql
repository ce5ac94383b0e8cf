DROP TABLE invoice;
