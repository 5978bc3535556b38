"""Outlines, families, billets, clearance and placement: plain geometry in millimetres."""
