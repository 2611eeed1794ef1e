"""The main window, its actions and dialogs.

A dialog is a `dialogs.form.ProjectDialog`, built as `SomeDialog(project, ..., parent)`: it never sees the
document. The window opens it without blocking and connects `applied(project, text)` to `Document.commit`; see
`dialog_menu`, the one place that knows which dialog belongs to which part.
"""
