"""Equalizing, fill heat, session planning and blending."""
