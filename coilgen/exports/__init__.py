"""File formats, one module each: a function from a result to the bytes of its files."""
