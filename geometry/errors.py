"""The errors that a person may see, as one small tree.

::

    ToolError
    ├── InputError      a value, outline or option that cannot be used
    ├── FitError        a search that cannot be run on what it was given
    ├── PhotoError      a picture that cannot be measured    (calibration/errors.py)
    └── FileError       a file that cannot be read or written (app/files/errors.py)

Mistakes in our own code stay ``ValueError`` or ``AssertionError``.
"""


class ToolError(Exception):
    """What is wrong, where, and what to do next.

    Parameters
    ----------
    message : str
        What is wrong, one sentence.
    where : str, optional
        The thing on the screen or in the file that it is about.
    remedy : str, optional
        What the person can do next, one sentence.
    """

    def __init__(self, message: str, *, where: str = "", remedy: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.where = where
        self.remedy = remedy

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        return f"{place}{self.message} {self.remedy}".strip()


class InputError(ToolError):
    """A value, outline or option that cannot be used."""


class FitError(ToolError):
    """A search that cannot be run on what it was given."""


class Cancelled(Exception):
    """The person stopped long work; nothing of it is kept."""
