"""What two hands can do: strokes, reaches, findings and their remedies."""
