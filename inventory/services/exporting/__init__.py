"""Take things out: everything, to be read back by us; and the measurements as a table, to be read by people.

tables             which tables a whole export has and what their columns are
cells              values as cells of text, and back
writing            the three forms of a whole export
measurements       the columns of the table of measurements
measurement_files  its two forms
sheets             how a sheet of a workbook looks
runs               the deeds: ask for an export, write it, find it again
"""
