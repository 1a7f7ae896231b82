"""Pictures of the board and the cut."""
