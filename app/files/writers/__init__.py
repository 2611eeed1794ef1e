"""Outlines written for other programs: exact lines and arcs, mm, the same bytes every time."""
