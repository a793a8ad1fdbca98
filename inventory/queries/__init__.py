"""Reads, named after the question they answer."""
