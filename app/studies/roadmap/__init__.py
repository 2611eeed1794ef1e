"""The roadmap: fitments turned into wheels, held against blanks, and put to the die programme."""
