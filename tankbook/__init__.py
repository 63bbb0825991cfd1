"""tankbook: diving cylinders kept lawful, in test and correctly filled, from plain text."""

__version__ = "0.2.0"
