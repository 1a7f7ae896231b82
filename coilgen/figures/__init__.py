"""The figures, a file for each or for each family; every file ends in FIGURES."""
