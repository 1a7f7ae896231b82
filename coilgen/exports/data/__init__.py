"""Everything for programs."""
