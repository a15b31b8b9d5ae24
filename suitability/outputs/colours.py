"""Colours of the map, chosen to be told apart in grey print and by colour-blind readers."""

from __future__ import annotations

# Ten classes of the score, 0–0.1 to 0.9–1: sand over clay to aubergine. Each is 7.7 L* darker
# than the one before, so the order survives a grey printer; hue and chroma turn evenly beside
# it. Blue is left to water, green to nobody.
SCORE_COLOURS = (
    "#f5e4b7",
    "#edcb8e",
    "#e6b169",
    "#e09554",
    "#da7746",
    "#c95d49",
    "#b3464d",
    "#973550",
    "#722e50",
    "#4d2747",
)
INK = "#1a1a1a"
QUIET_INK = "#555555"
PAPER = "#ffffff"
WATER = "#1f5fa8"
BUILDING = "#3d4247"

# Land without a score is grey relief from this to white; where it is excluded, fine lines say
# so, for a grey printer makes pale scores and pale relief alike.
RELIEF_DARKEST = 0.62
HATCH = 0.42

# Measures are no judgement, and have another ramp: pale to dark, even to every eye (Nuñez, Anderton
# & Renslow 2018). Directions come full circle, pale in the north and dark in the south.
MEASURES = "cividis_r"
DIRECTIONS = "twilight"
NO_MEASURE = (1.0, 1.0, 1.0)
