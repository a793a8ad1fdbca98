"""Sampling a batch: what to draw, what the draw decides, and how far that decision can be trusted."""
