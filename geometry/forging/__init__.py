"""Blanks as they are forged: the smallest outline that holds a group of wheels, and what forging it takes."""
