"""Take everything out: one list of tables, written as a workbook, zipped CSV tables or one JSON document.

tables     which tables there are and what their columns are
cells      values as cells of text, and back
writing    the three forms
runs       the deeds: ask for an export, write it, find it again
"""
