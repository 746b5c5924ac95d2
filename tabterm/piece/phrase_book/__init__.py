"""The phrase book: phrases kept with what can be looked for, in a database of the user's, and put into a score."""
