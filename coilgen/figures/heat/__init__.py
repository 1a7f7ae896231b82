"""Temperatures and their limits."""
