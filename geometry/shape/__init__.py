"""Outlines: curves, sections, rim contour, stay-out shapes, blanks, edits and faults."""
