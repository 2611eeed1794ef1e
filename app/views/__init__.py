"""What is seen of the open document: canvas, readings, tables, profile strip and the list of parts.

A view is built as `View(document, theme, parent=None)`. It draws what `document.shown` hands it, takes its
colours and sign pens from `theme`, repaints on `theme.changed`, and never writes to another view. Wishes that
need a dialog or another view leave it as signals, which the main window connects:

    ReadingsPanel   go_to(float z, float r)            show this place on the canvas; wanted, as below
    ProfileStrip    go_to(float z, float r)
    PartsPanel      wanted(str what, str kind, str name)   open a dialog: what is "new" or "properties",
                                                       kind is wheel, blank, shape, rules, material, fitment
    SummaryPanel    go_to(float z, float r)
    VertexTable     none: it commits and selects through the document

Panels that hold something to copy offer `copied_text() -> str`: the reading or table that has the focus, as
tab-separated text.
"""
