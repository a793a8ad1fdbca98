"""Writes: one deed, one function, one transaction; each checks the right and leaves an audit row."""
