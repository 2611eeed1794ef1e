"""A dialog that holds work: it asks before what was typed or clicked is thrown away."""

from __future__ import annotations

from app.language import tr
from app.window.dialogs.form import ProjectDialog
from app.window.questions import ask


class CarefulDialog(ProjectDialog):
    """Asks before it closes without OK, once `is_touched` was set."""

    is_touched = False

    def touch(self) -> None:
        """Remember that there is something to lose."""
        self.is_touched = True

    def reject(self) -> None:
        """Close, or ask first where there is something to lose."""
        if self.is_touched:
            lost = tr("What was typed and clicked here is lost.")
            if ask(self, tr("Leave without a shape?"), lost, [tr("Leave")], stay=tr("Stay")) is None:
                return
        super().reject()
