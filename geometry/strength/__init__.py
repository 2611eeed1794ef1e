"""Screening of strength: loads of the published tests, half-section finite elements, spokes, life, lip.

Screening only: a figure from here compares wheels; it never approves one. Nothing in this folder is compiled
(see geometry.compiled), so that an edit here leaves the machine code of the readings as it is.
"""
