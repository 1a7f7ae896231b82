"""Fast figures of very many designs at once, learned from exact runs of a few."""
