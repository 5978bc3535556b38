"""Changes of a billet by hand: plain values, applied in order to what was measured.

The measured billet and the list of changes are what is kept. Taking a change back is a shorter
list; measuring again keeps the list, since each change says in mm where on the piece it belongs.
"""

from geometry.editing.cut import Cut
from geometry.editing.edits import Claim, Edit, claim, edited
from geometry.editing.flaws import AddFlaw, RemoveFlaw
from geometry.editing.redraw import (
    Redraw,
    straightened,
    vertex_added,
    vertex_deleted,
    vertex_moved,
)

__all__ = [
    "AddFlaw",
    "Claim",
    "Cut",
    "Edit",
    "Redraw",
    "RemoveFlaw",
    "claim",
    "edited",
    "straightened",
    "vertex_added",
    "vertex_deleted",
    "vertex_moved",
]
