"""The printed sheet: engraved pages of notation and tablature, and the files that they are written to."""
