"""What the fab gets."""
