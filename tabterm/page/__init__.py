"""What stands where in a system: the columns of a measure, the signs of a note, and one table of rows."""
