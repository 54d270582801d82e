"""Tables, statements and the units of work that run over them."""
