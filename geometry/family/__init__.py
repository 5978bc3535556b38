"""Families: reusable outlines that follow from a few measures, kept as data files."""

from geometry.family.library import built_in_families, family_named
from geometry.family.model import Family, Parameter, Size
from geometry.family.reading import family_from_text

__all__ = ["Family", "Parameter", "Size", "built_in_families", "family_from_text", "family_named"]
