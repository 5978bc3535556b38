"""What must give so that an outline fits a piece of steel: the smallest changes of its measures."""

from geometry.advice.advise import advise
from geometry.advice.model import Advice, Measure, Short, Values, Way
from geometry.advice.piece import Piece, piece_for

__all__ = ["Advice", "Measure", "Piece", "Short", "Values", "Way", "advise", "piece_for"]
