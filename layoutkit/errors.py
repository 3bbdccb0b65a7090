"""The errors that layoutkit raises on purpose; each one makes one sentence for the user."""


class LayoutkitError(ValueError):
    """Any error that layoutkit raises on purpose."""


class InputError(LayoutkitError):
    """A value that was given cannot be used.

    ``words`` say what was wrong and what is possible. ``field`` is the dotted path of the record's
    field that they are about, and ``file`` the name of the file; each is empty where there is none.
    The sentence is put together by `str` alone, so nobody has to take it apart again.
    """

    def __init__(self, words: str, field: str = "", file: str = "") -> None:
        super().__init__(words, field, file)
        self.words = words
        self.field = field
        self.file = file

    def __str__(self) -> str:
        return ": ".join(part for part in (self.file, self.field, self.words) if part)
