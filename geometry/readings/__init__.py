"""What is left: gap, wall, stock, solid, and all live readings in one call."""
