"""From the bench: readings beside predictions, what explains them, better predictions."""
