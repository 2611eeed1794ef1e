"""Dialogs: each takes a project and gives the changed project with the words of its undo step."""
