DROP TABLE menu_withdrawal;
