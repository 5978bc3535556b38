"""Pens and papers of random scenes."""

# share of the paper's light that ink takes, red green blue; widths of the pens, mm
BLACK, BLUE, RED, GREEN, LEAD = (
    (0.90, 0.90, 0.89),
    (0.85, 0.75, 0.35),
    (0.18, 0.75, 0.68),
    (0.78, 0.35, 0.62),
    (0.48, 0.48, 0.46),
)
PENS = {
    "ball pen": (0.38, 0.60, (BLACK, BLUE, RED, GREEN)),
    "felt": (0.8, 1.3, (BLACK, BLUE, RED, GREEN)),
    "marker": (1.8, 3.2, (BLACK, BLUE, RED, GREEN)),
    "pencil": (0.45, 0.8, (LEAD,)),
}
PAPERS = {
    "white": (0.80, 0.79, 0.77),
    "cream": (0.78, 0.73, 0.60),
    "grey": (0.50, 0.50, 0.50),
    "kraft": (0.45, 0.33, 0.21),
    "ruled": (0.80, 0.79, 0.77),
    "grid": (0.80, 0.79, 0.77),
}
RULES = (0.28, 0.16, 0.06)
