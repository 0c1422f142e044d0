"""A line of text to type into, which may begin with a proposal."""

from __future__ import annotations

from textual.widgets import Input
from textual.widgets.input import Selection


class Entry(Input):
    """A line of text.

    A proposal stands marked: what is typed or pasted first takes its place, as a digit does on a
    line with a number. Left, End and backspace let it stand, to be edited from its end.
    """

    # Without colours the whole line is turned round, and cursor and mark with it.
    DEFAULT_CSS = """
    Entry:nocolor > .input--selection, Entry:nocolor > .input--cursor { text-style: underline; }
    """
    _proposal = ""

    def begin(self, text: str, proposed: bool) -> None:
        """Begins with a text; proposed: True if it is only proposed, and not to be typed on at."""
        self.value = text
        self.cursor_position = len(text)
        self._proposal = text if proposed else ""
        if proposed:
            self.selection = Selection(0, len(text))

    def action_cursor_left(self, select: bool = False) -> None:
        """One letter to the left; of a proposal, from its end."""
        if not select:
            self._keep()
        super().action_cursor_left(select)

    def action_delete_left(self) -> None:
        """Takes the letter before the cursor away, of a proposal its last."""
        self._keep()
        super().action_delete_left()

    def _keep(self) -> None:
        """The mark of a proposal that is to be edited is gone."""
        if self.value == self._proposal and self.selection == Selection(0, len(self.value)):
            self.cursor_position = len(self.value)
