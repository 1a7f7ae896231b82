"""The rules of board making, one a file: what a shop can etch, drill, mask and cut."""
