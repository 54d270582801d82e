"""The steps that bring a database from one shape of the tables to the next."""
