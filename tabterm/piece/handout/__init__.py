"""The handout: what a teacher gives a student of one piece, on paper, as a page for the phone, and to hear."""
