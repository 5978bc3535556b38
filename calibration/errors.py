"""What is wrong with a picture."""

from geometry.errors import ToolError


class PhotoError(ToolError):
    """A picture that cannot be measured."""
