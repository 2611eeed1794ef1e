"""What is seen of the open document: canvas, readings, tables, profile strip and the list of parts.

A panel is built as `Panel(theme, parent=None)`, draws what `show_state(shown)` is handed, takes its colours
from `theme`, repaints on `theme.changed`, and never writes to another view or to the document. What it wishes
leaves it as a signal, which the main window connects: `changed(project, text)` to `Document.commit`,
`place_clicked(z, r)` to the canvas, `said(text)` to the status line. The canvas alone holds the document, for
its gestures.

    SummaryPanel    place_clicked
    ReadingsPanel   place_clicked, zone_selected, card_wanted, said
    ProfileStrip    place_clicked
    PartsPanel      changed, wheel_selected, outline_selected, compare_changed, new_wanted, edit_wanted,
                    rename_wanted, said
    VertexTable     changed, vertex_selected, said
"""
