"""The named errors, each with one sentence that a person can act on."""


class OverstaveError(Exception):
    """Base of every error that is shown to the user in words.

    ``str(error)`` is one sentence for the user; ``details`` holds what a bug report needs.
    """

    def __init__(self, sentence: str, details: str = "") -> None:
        super().__init__(sentence)
        self.details = details

    def __reduce__(self) -> tuple[type["OverstaveError"], tuple[str, str]]:
        """Keep the details when the error crosses to another process."""
        return type(self), (str(self), self.details)


class ReadingError(OverstaveError):
    """The input is not a score that can be read; the sentence says what to do."""


class EngravingError(OverstaveError):
    """The score was read but could not be engraved."""


class ReviewFileError(OverstaveError):
    """A review file could not be read or written."""


class ExportError(OverstaveError):
    """A file could not be made; nothing half-written is left behind."""


class NotationError(OverstaveError):
    """A chord, key or numeral typed by the user does not say what it must."""


class EditError(OverstaveError):
    """An edit cannot be carried out as things are; nothing was changed."""
