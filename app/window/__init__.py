"""The main window, its actions and dialogs.

Dialogs live in `app.window.dialogs`, one module each, opened without blocking. Each module has

    show(parent, document, ...) -> QDialog

which shows the dialog window-modal, commits to the document when it is accepted, and changes nothing when it
is not. The main window opens:

    new_wheel.show(parent, document)
    new_blank.show(parent, document)
    new_shape.show(parent, document)
    size.show(parent, document)                     width, diameter, inset or backspace of the shown wheel
    properties.show(parent, document, kind, name)   what a wheel, blank, shape, rule set, material is made of;
                                                    for a shape its source card
    import_outline.show(parent, document, path)     reads a foreign file in the background, asks its unit and
                                                    what it becomes (shape, blank or wheel)
"""
