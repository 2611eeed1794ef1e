"""What a project file holds, as immutable values."""
