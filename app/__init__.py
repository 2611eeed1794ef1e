"""The Blankwright application: files, studies, reports, commands and window round the geometry."""
