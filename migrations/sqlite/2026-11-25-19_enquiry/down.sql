DROP TABLE enquiry;
