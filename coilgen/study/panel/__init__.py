"""Panels of samples: several boards made as one, with the frame, coupons and key that they need."""
