"""Bring in files: measured pieces, spec sheets, whole exports.

refusals   why a file cannot be brought in
files      bytes to rows of cells: text_tables reads CSV in its many dresses, workbooks XLSX, tables limits
cells      what one cell holds: text, dates, numbers of a spreadsheet
headers    where the header is, and what its cells are called
roles      what a column can mean, and the guess from its name
mapping    the choices made on the screen, as kept in the run
report     errors, suspicious cells and rows left out, capped but counted
namesakes  which person a name in a file means, and when that is asked
books      makers, styles, specs, people and tapes by the names a file uses
rows       which rows are pieces, and which are blank, headers, totals or notes
lengths    a column of typed lengths through one parse per distinct text
pieces     the rows as pieces with their readings
other_unit figures of a file, a column or some rows in another unit, told once
met_before pieces of the file that are in the shop already
met_unnamed  rows without a reference that have the figures of a piece stored before, or of a row above
guard      the slip guard over all readings: asking asks about one, expected_figures has what they should be
girths     columns or rows of full girths in the place of halves, told once
heaping    figures of one person or point that are round too often
judging    verdicts for all pieces through arrays
storing    everything into the database, all or nothing: stored_readings and stored_verdicts write most of it
exported   a whole export as tables; restored_rows, restored_pictures and restoring bring it back,
verifying  works its verdicts out again
specs      a spec sheet into a draft: spec_sheet reads it, spec_slips asks about figures that look odd
open_columns  columns that several points could be: settled by the style, or said to be open
templates  an empty file to fill in
kept_file  the uploaded file from then on
first_reading  how a file is proposed to be read: taking_over an earlier one's choices, and what stands
               above its header; whole_told knows a whole export
runs       the deeds: upload, choose, ask for check and store
carrying_out  the work of a check and of a store
"""
