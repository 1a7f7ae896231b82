"""Circuits and networks for simulators."""
