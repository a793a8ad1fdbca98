"""Sampling: what is agreed, the draw, the decision on the batch, and what a person notes for the switching.

schemes    set_scheme
draws      draw_sample
decisions  decide_batch
notes      note_switching
"""
