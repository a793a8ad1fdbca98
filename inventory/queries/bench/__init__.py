"""The bench: the walk of the tape, a piece as it lies there, what is asked next, what waits to be measured.

walk     every side of every point in its fixed order
sheet    the piece, its open sitting, what was read
asking   what is asked next, and what came of the step just read
lists    what is still to measure, sittings in progress, the next piece
"""
