"""What was asked for: one frozen model for each table of the design file, reading it, and its faults."""
