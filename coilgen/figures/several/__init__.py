"""How several windings of a board act on one another."""
