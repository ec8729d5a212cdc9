"""Every menu entry and shortcut as a row of data, and how the rows become menus.

A row names a slot of the window. Platform shortcuts (Open, Save, Undo, …) come from Qt, so that
they follow the platform's conventions; single letters are for going through the marks. Rows hold
English; what is made of them is in the person's language.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Final, Literal

from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QMainWindow, QMenu

from app.interface_words import Phrase, said, said_phrase

#: What must be there for an action to make sense.
Need = Literal[
    "nothing", "pages", "document", "mark", "reading", "undo", "redo", "stalled", "place"
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class ActionRow:
    """One entry.

    ``menu`` may name a menu inside another, parted by a bar. ``value`` is handed to the slot.
    ``choices`` with the same ``group`` exclude each other.
    """

    menu: str
    text: str
    slot: str
    keys: tuple[str | QKeySequence.StandardKey, ...] = ()
    tip: str = ""
    needs: Need = "nothing"
    checkable: bool = False
    group: str = ""
    ends_part: bool = False
    value: str = ""

    @property
    def name(self) -> str:
        """What the action is known by: its slot, and its value where it has one."""
        return f"{self.slot} {self.value}".strip()

    @property
    def phrases(self) -> tuple[Phrase, ...]:
        """All that a person may read of it."""
        return tuple(Phrase(text) for text in (*self.menu.split("|"), self.text, self.tip) if text)

    @property
    def plain_text(self) -> str:
        """The entry's text without what only a menu needs."""
        return _plain(self.text).rstrip("…")


_KEY: Final = QKeySequence.StandardKey
LAYER_NAMES: Final[dict[str, str]] = {
    "numerals": "&Numerals",
    "functions": "&Functions",
    "keys": "&Keys",
    "sections": "&Sections",
    "cadences": "&Cadences",
    "phrases": "&Phrases and Repeats",
    "melody": "&Melody",
    "lines": "&Lines and Pedals",
    "remarks": "&Remarks",
    "symbols": "Chord S&ymbols",
    "degrees": "Scale &Degrees of the Melody",
}
_LAYER_KEYS: Final = (*(f"Alt+{at}" for at in range(1, 10)), "Alt+0", "Alt+D")
#: Colours that sections may have, from the palette of Okabe and Ito; they tint an edge, no text.
SECTION_COLOURS: Final = (
    ("none", "&None"),
    ("#e69f00", "&Orange"),
    ("#56b4e9", "&Sky Blue"),
    ("#009e73", "&Green"),
    ("#f0e442", "&Yellow"),
    ("#0072b2", "&Blue"),
    ("#d55e00", "&Vermillion"),
    ("#cc79a7", "&Purple"),
)
#: The first reading is the one that was found.
_READING_NAMES: Final = (
    "Reading &1", "Reading &2", "Reading &3", "Reading &4", "Reading &5", "Reading &6",
    "Reading &7", "Reading &8", "Reading &9",
)  # fmt: skip
_READINGS: Final = "&Review|&Take a Reading"

ROWS: Final = (
    ActionRow(
        "&File", "&New Window", "new_window", (_KEY.New,), "Another window, for another score"
    ),
    ActionRow("&File", "&Open…", "ask_open", (_KEY.Open,), "Open a score or a review file"),
    ActionRow("&File", "Open a &Sample", "open_sample", (), "Open a piece that comes with it"),
    ActionRow("&File", "&Close", "close_document", (_KEY.Close,), needs="pages", ends_part=True),
    ActionRow(
        "&File", "&Save Review", "save", (_KEY.Save,), "Keep your decisions beside the score",
        needs="document",
    ),
    ActionRow(
        "&File", "Save Review &As…", "save_as", (_KEY.SaveAs, "Ctrl+Shift+S"), needs="document"
    ),
    ActionRow("&File", "Reco&ver…", "recover", (), "Bring back what was not saved at a crash"),
    ActionRow(
        "&File", "&Export…", "show_export_room", ("Ctrl+E",),
        "Stills, reveals, cards, the annotated score, captions and the edit timeline",
        needs="document",
    ),
    ActionRow(
        "&File", "Export A&gain", "export_again", ("Ctrl+Shift+E",),
        "The same as last time; only what changed is overwritten", needs="document",
    ),
    ActionRow(
        "&File", "&Times in the Video…", "show_times", ("Ctrl+Alt+T",),
        "When stills and cards stand", needs="document", ends_part=True,
    ),
    ActionRow("&File", "&Quit", "close", (_KEY.Quit, "Ctrl+Q")),
    ActionRow("&Edit", "&Undo", "undo", (_KEY.Undo,), needs="undo"),
    ActionRow("&Edit", "&Redo", "redo", (_KEY.Redo, "Ctrl+Shift+Z"), needs="redo"),
    ActionRow(
        "&Edit", "Undo &History…", "show_history", ("Ctrl+Alt+Z",), "All steps, and a way back",
        needs="document", ends_part=True,
    ),
    ActionRow("&Edit", "&Find in the Marks", "find_marks", (_KEY.Find,), needs="document"),
    ActionRow("&Edit", "Select &Nothing", "select_nothing", ("Esc",), needs="document"),
    ActionRow("&Review", "&Next Mark", "next_mark", ("J",), needs="document"),
    ActionRow("&Review", "&Previous Mark", "previous_mark", ("K",), needs="document"),
    ActionRow(
        "&Review", "Next &Open Mark", "next_open_mark", ("N",), needs="document", ends_part=True
    ),
    ActionRow("&Review", "&Accept", "accept", ("A",), "Accept the mark and go on", needs="mark"),
    ActionRow("&Review", "&Reject", "reject", ("R",), "Reject the mark and go on", needs="mark"),
    ActionRow("&Review", "Reo&pen", "reopen", ("U",), "Take the decision back", needs="mark"),
    ActionRow("&Review", "&Edit", "edit_mark", ("E", "F2"), "Say it in other words", needs="mark"),
    ActionRow("&Review", "&Comment", "comment_mark", ("C",), "Write a note", needs="mark"),
    ActionRow(
        "&Review", "Another Rea&ding", "another_reading", ("D",), "Choose the next of the readings",
        needs="mark",
    ),
    *(
        ActionRow(
            _READINGS, name, "take_reading", (str(number),),
            "Take this reading of the mark and go on", needs="reading", value=str(number),
        )
        for number, name in enumerate(_READING_NAMES, 1)
    ),
    ActionRow(
        "&Review", "Accept All &Sure Marks…", "accept_sure", ("Ctrl+Shift+A",),
        "Accept all open marks above a confidence in one step", needs="document",
    ),
    ActionRow(
        "&Review", "What Was Carried O&ver…", "show_carry_report", (),
        "What moved, changed or found no place when the score came back changed",
        needs="document",
    ),
    ActionRow(
        "&Review", "Analyse A&gain", "analyse_again", ("F5",),
        "Let the marks follow a correction after all", needs="stalled",
    ),
    ActionRow(
        "&Correct", "&Chord or Numeral…", "type_chord", ("T",),
        "Type the chord or numeral at the selected place", needs="place",
    ),
    ActionRow(
        "&Correct", "&Key…", "set_key", ("Shift+K",), "Say in which key the selected stretch is",
        needs="place", ends_part=True,
    ),
    ActionRow(
        "&Correct", "&New Mark…", "new_mark", ("M",), "Make a mark of what is selected",
        needs="place",
    ),
    ActionRow(
        "&Correct", "Re&move Mark", "remove_mark", (_KEY.Delete,), "Remove a mark made by hand",
        needs="mark", ends_part=True,
    ),
    ActionRow(
        "&Correct", "&Split Section", "split_section", ("Shift+S",),
        "Begin a section at the selected place", needs="place",
    ),
    ActionRow(
        "&Correct", "&Join with Next Section", "join_sections", ("Shift+J",), needs="place"
    ),
    ActionRow("&Correct", "&Rename Section…", "rename_section", ("Shift+R",), needs="place"),
    *(
        ActionRow(
            "&Correct|Section C&olour", name, "colour_section", needs="place", value=colour
        )
        for colour, name in SECTION_COLOURS
    ),
    ActionRow(
        "&Correct", "&Find Sections Again", "find_sections", needs="document", ends_part=True
    ),
    ActionRow(
        "&Correct", "&Parts…", "choose_parts", (), "Say which part is the melody", needs="document"
    ),
    ActionRow(
        "&View", "Co&mpare Passages", "compare", ("V",),
        "A melody and its return, or two like sections, one under the other", needs="document",
        ends_part=True,
    ),
    ActionRow(
        "&Review", "Talk of It Ea&rlier", "talk_earlier", ("Ctrl+Up",),
        "Move the mark up among the talking points", needs="mark",
    ),
    ActionRow(
        "&Review", "Talk of It &Later", "talk_later", ("Ctrl+Down",),
        "Move the mark down among the talking points", needs="mark",
    ),
    ActionRow("&View", "Zoom &In", "zoom_in", (_KEY.ZoomIn, "Ctrl+="), needs="pages"),
    ActionRow("&View", "Zoom &Out", "zoom_out", (_KEY.ZoomOut,), needs="pages"),
    ActionRow("&View", "&Actual Size", "zoom_actual", ("Ctrl+1",), needs="pages"),
    ActionRow(
        "&View", "Fit &Width", "fit_width", ("Ctrl+0",), "Pages as wide as the view", needs="pages"
    ),
    ActionRow(
        "&View", "Fit &Section", "fit_section", ("Ctrl+9",),
        "The section of the selection as large as the view", needs="place",
    ),
    ActionRow(
        "&View", "Fit &Timeline", "fit_timeline", ("Ctrl+T",), needs="document"
    ),
    ActionRow(
        "&View", "Timeline in &Played Order", "toggle_played_order", ("Ctrl+R",),
        "Unfold the repeats on the timeline", needs="document", checkable=True, ends_part=True,
    ),
    *(
        ActionRow("&View|&Layers", name, "toggle_layer", (keys,), checkable=True, value=layer)
        for (layer, name), keys in zip(LAYER_NAMES.items(), _LAYER_KEYS, strict=True)
    ),
    ActionRow(
        "&View", "One &Long System", "toggle_long_system", ("Ctrl+L",), needs="pages",
        checkable=True, ends_part=True,
    ),
    ActionRow(
        "&View|&Colours", "&Follow the System", "set_look", checkable=True, group="look",
        value="system",
    ),
    ActionRow("&View|&Colours", "&Light", "set_look", checkable=True, group="look", value="light"),
    ActionRow("&View|&Colours", "&Dark", "set_look", checkable=True, group="look", value="dark"),
    ActionRow(
        "&View", "Numerals and &Names…", "choose_writing", ("Ctrl+,",),
        "Conventions of numerals, inversions, names of notes and degrees", ends_part=True,
    ),
    ActionRow("&View|&Interface Size", "&Larger", "larger", ("Ctrl+Alt++", "Ctrl+Alt+=")),
    ActionRow("&View|&Interface Size", "&Smaller", "smaller", ("Ctrl+Alt+-",)),
    ActionRow("&View|&Interface Size", "&Usual", "usual_size", ("Ctrl+Alt+0",)),
    ActionRow("&Help", "Five &Steps", "show_guide", (), "How a review goes, in five steps"),
    ActionRow("&Help", "Find an &Action…", "find_action", ("Ctrl+K",)),
    ActionRow("&Help", "&Keys", "show_keys", ("F1",), "All keys on one page"),
    ActionRow("&Help", "&About Overstave", "show_about"),
)  # fmt: skip


def make_actions(
    window: QMainWindow, slot: Callable[[str], Callable[..., object]]
) -> dict[str, QAction]:
    """One action a row, by row name; not yet in a menu."""
    actions: dict[str, QAction] = {}
    groups: dict[str, QActionGroup] = {}
    for row in ROWS:
        action = QAction(said_phrase(Phrase(row.text)), window)
        action.setShortcuts([QKeySequence(keys) for keys in row.keys])
        action.setStatusTip(said_phrase(Phrase(row.tip)))
        action.setCheckable(row.checkable)
        if row.group:
            group = groups.setdefault(row.group, QActionGroup(window))
            group.addAction(action)
        action.triggered.connect(partial(_trigger, slot, row))
        window.addAction(action)
        actions[row.name] = action
    return actions


def fill_menus(window: QMainWindow, actions: dict[str, QAction]) -> dict[str, QMenu]:
    """The menu bar; the menus by their path."""
    menus: dict[str, QMenu] = {}
    for row in ROWS:
        path = ""
        for text in row.menu.split("|"):
            above, path = path, f"{path}|{text}".lstrip("|")
            if path not in menus:
                adder = menus[above] if above else window.menuBar()
                menus[path] = adder.addMenu(said_phrase(Phrase(text)))
        menus[path].addAction(actions[row.name])
        if row.ends_part:
            menus[path].addSeparator()
    return menus


def enable(actions: dict[str, QAction], met: set[Need], readings: int = 0) -> None:
    """Enable what makes sense now, where the mark has so many readings."""
    for row in ROWS:
        makes_sense = row.needs == "nothing" or row.needs in met
        if row.needs == "reading":
            makes_sense = "mark" in met and int(row.value) <= readings
        actions[row.name].setEnabled(makes_sense)


def key_table() -> list[tuple[str, list[tuple[str, str]]]]:
    """Menus with their (action, keys) rows, for the page of keys."""
    table: dict[str, list[tuple[str, str]]] = {}
    for row in ROWS:
        if row.menu == _READINGS:
            if row.value == "1":
                table[_plain("&Review")].append((said("Take a Reading and Go On"), "1 – 9"))
        elif row.keys:
            native = QKeySequence.SequenceFormat.NativeText
            keys = next(filter(None, (QKeySequence(k).toString(native) for k in row.keys)), "")
            menu = _plain(row.menu.split("|")[-1])
            table.setdefault(menu, []).append((row.plain_text, keys))
            if row.name == "comment_mark":
                typed = QKeySequence("Ctrl+Return").toString(native)
                table[menu].append((said("Take What Is Typed and Go On"), typed))
    return list(table.items())


def choices(actions: dict[str, QAction]) -> list[tuple[str, str]]:
    """Name and description of each action that can be done now: menu, text and keys."""
    found = []
    for row in ROWS:
        action = actions[row.name]
        if action.isEnabled():
            path = " › ".join((*(_plain(menu) for menu in row.menu.split("|")), row.plain_text))
            keys = action.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
            found.append((row.name, path + (f"   {keys}" if keys else "")))
    return found


def _plain(text: str) -> str:
    """A row's text in the person's language, without the signs of its letter to press."""
    return said_phrase(Phrase(text)).replace("&", "")


def _trigger(slot: Callable[[str], Callable[..., object]], row: ActionRow, *_: object) -> None:
    """Call the slot of a row; Qt's own argument says only whether it is checked."""
    if row.value:
        slot(row.slot)(row.value)
    else:
        slot(row.slot)()
