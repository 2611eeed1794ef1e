"""The open document, the drag, and work in the background."""
