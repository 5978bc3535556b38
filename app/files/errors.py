"""The error for files that cannot be read or written."""

from __future__ import annotations

from geometry.errors import ToolError


class FileError(ToolError):
    """A file that cannot be read or written, or that does not hold what is needed."""
