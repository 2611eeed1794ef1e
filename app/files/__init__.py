"""Reading and writing of project files and foreign formats."""
