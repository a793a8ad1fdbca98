"""The demo shop: an invented shop with invented makers, built through the same services as real work.

scenario    who and what there is, as plain data
building    the scenario as rows
measuring   our own measuring: tapes, check garment, study
sampling    a sampled batch and its decision
"""
