DROP TABLE clock_run;
DROP TABLE message_attachment;
DROP TABLE message;
