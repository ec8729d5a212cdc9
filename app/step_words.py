"""Names of steps, which the review keeps in English, in the person's language where they are shown.

An edit names itself without Qt, and the journal keeps that name. Here each form of name is a text
of the window with its values by name; what an edit is about (a label, a chord, a key) stays as the
document has it. A name of no known form, such as one that a newer program wrote, is shown as it is.
"""

from __future__ import annotations

import re
from typing import Final

from app.interface_words import counted, phrase, said, said_phrase

#: Forms of names; a fixed one stands before the one with a value that it would fit as well.
_FORMS: Final = (
    phrase("Accept mark"),
    phrase("Reject mark"),
    phrase("Reopen mark"),
    phrase("Edit mark"),
    phrase("Accept {what}"),
    phrase("Reject {what}"),
    phrase("Reopen {what}"),
    phrase("Edit {what}"),
    phrase("Choose another reading"),
    phrase("Another reading of {what}"),
    phrase("Comment"),
    phrase("Comment on {what}"),
    phrase("Add"),
    phrase("Add {what}"),
    phrase("Change"),
    phrase("Change {what}"),
    phrase("Remove the mark"),
    phrase("Order the talking points"),
    phrase("Find the key again"),
    phrase("Go back to the score’s chord"),
    phrase("Choose the melody"),
    phrase("Make it {role}"),
    phrase("Find the role again"),
    phrase("Set the sections"),
    phrase("Find the sections again"),
    phrase("Move the border"),
    phrase("Split the section"),
    phrase("Join the sections"),
    phrase("Rename the section"),
    phrase("Colour the section"),
    phrase("Place a decision"),
    phrase("Remove a leftover"),
    phrase("Remove all leftovers"),
    phrase("Set time"),
    phrase("Move times"),
    phrase("Shift all times"),
    phrase("Shift times from here"),
    phrase("Take times from the score"),
    phrase("Set {what}"),
)
_MANY: Final = re.compile(r"(Accept|Reject|Reopen|Remove) (\d+) marks")
_UNDO: Final = "Undo "


def step_words(name: str) -> str:
    """The name of a step in the person's language."""
    many = _MANY.fullmatch(name)
    if many:
        return _of_many(many[1], int(many[2]))
    for form in _FORMS:
        pattern = re.escape(form).replace(r"\{what\}", "(?P<what>.+)")
        found = re.fullmatch(pattern.replace(r"\{role\}", "(?P<role>.+)"), name, re.DOTALL)
        if found:
            return said_phrase(form, **found.groupdict())
    if name.startswith(_UNDO):
        return said("Undo {step}", step=step_words(name.removeprefix(_UNDO)))
    return name


def _of_many(verb: str, count: int) -> str:
    if verb == "Accept":
        return counted("Accept one mark", "Accept {count} marks", count)
    if verb == "Reject":
        return counted("Reject one mark", "Reject {count} marks", count)
    if verb == "Reopen":
        return counted("Reopen one mark", "Reopen {count} marks", count)
    return counted("Remove one mark", "Remove {count} marks", count)
