"""Plans: what is asked, what is answered, and how the one is made from the other."""
