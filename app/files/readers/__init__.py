"""Foreign files: read in a killable child process, handed back as exact outlines."""
