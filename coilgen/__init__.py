"""Parametric PCB coils: one design file in; board art, figures, pictures and warnings out."""

__version__ = "0.1.0"
