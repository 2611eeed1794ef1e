"""Screening of strength: which loads a wheel meets, what its section makes of them, what that compares to."""
