"""The errors that layoutkit raises on purpose; each message is one sentence for the user."""


class LayoutkitError(ValueError):
    """Any error that layoutkit raises on purpose."""


class InputError(LayoutkitError):
    """A value that was given cannot be used; names the field, the value and what is possible.

    ``field`` is the dotted path of the record's field where it is known, else empty.
    """

    def __init__(self, sentence: str, field: str = "") -> None:
        super().__init__(sentence)
        self.field = field
