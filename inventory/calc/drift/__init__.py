"""Whether something has moved in time: our own measuring first, before any maker is blamed.

individuals   the chart of the check garment, a figure per sitting
    control_limits  where the next figure of a few is to be expected
"""
