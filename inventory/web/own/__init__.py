"""Screens of our own measuring: tape checks, the check garment, studies, budgets."""
