"""Heat of a board as a plate on a grid: any outline, cut-outs, several windings and bodies anywhere on it."""
